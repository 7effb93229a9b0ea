/** Imports run one way: grammar <- circuit <- physics <- rules <- check <- reports, editor <- lsp, cli <- client. */
const layers = [
  ["grammar", "^grammar/"],
  ["facts", "^server/facts/"],
  ["circuit", "^server/circuit/"],
  ["physics", "^server/physics/"],
  ["rules", "^server/rules/"],
  ["config", "^server/config/"],
  ["check", "^server/(check|largest-text)\\.ts$"],
  ["reports", "^server/reports/"],
  ["editor", "^server/editor/"],
  ["hosts", "^server/(lsp|lsp\\.web|cli|read-text|reason)\\.ts$|^server/(cli|lsp)/"],
  ["client", "^client/"],
];
const mayUse = {
  grammar: [],
  facts: [],
  circuit: ["grammar", "facts"],
  physics: ["grammar", "facts", "circuit"],
  rules: ["grammar", "facts", "circuit", "physics"],
  config: ["grammar", "facts", "circuit", "physics", "rules"],
  check: ["grammar", "facts", "circuit", "physics", "rules"],
  reports: ["grammar", "facts", "circuit", "physics", "rules", "check"],
  editor: ["grammar", "facts", "circuit", "physics", "rules", "config", "check", "reports"],
  hosts: ["grammar", "facts", "circuit", "physics", "rules", "config", "check", "reports", "editor"],
  client: [],
};
const path = Object.fromEntries(layers);
module.exports = {
  forbidden: [
    {
      name: "no-circular",
      severity: "error",
      from: {},
      to: { circular: true, viaOnly: { dependencyTypesNot: ["type-only"] } },
    },
    ...layers.map(([layer, from]) => ({
      name: `${layer}-imports-one-way`,
      severity: "error",
      from: { path: from },
      to: {
        path: layers
          .filter(([other]) => other !== layer && !mayUse[layer].includes(other))
          .map(([other]) => path[other]),
        // Data may name the circuit's types (a region, a material); it runs nothing of it.
        ...(layer === "facts" ? { dependencyTypesNot: ["type-only"] } : {}),
      },
    })),
    {
      name: "core-touches-no-platform",
      comment: "The core also runs in a browser worker: no files, network, clock or editor.",
      severity: "error",
      from: {
        path: "^(grammar|server/(facts|circuit|physics|rules|config|reports|editor)|server/(check|largest-text))",
        pathNot: "^server/lsp",
      },
      to: { dependencyTypes: ["core"] },
    },
  ],
  options: {
    doNotFollow: { path: "node_modules" },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: "tsconfig.json" },
    enhancedResolveOptions: { extensions: [".ts", ".js", ".json"] },
  },
};
