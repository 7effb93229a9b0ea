/**
 * Bundles the program into `dist/` (or the folder given): one file per entry, so that a start reads one file and not a thousand.
 * An entry whose source is not there is skipped.
 *
 *   cli.js       the command: loads main.js
 *   main.js      reads the arguments and answers what needs no core
 *   check.js     the commands that check collections, without the core
 *   commands.js  the core, and the work of the other commands
 *   worker.js    a thread of it
 *   config.js    what reads configurations
 *   lsp.js       starts the language server for Node, which is server.js
 *   lsp.web.js   the language server for a browser worker
 *   client.js    the editor extension, client.web.js for a browser
 */
import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { chmodSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";
import { warmServer } from "./warm-server.mjs";

const root = join(dirname(fileURLToPath(import.meta.url)), "..");
const dist = resolve(root, process.argv[2] ?? "dist");
const { version } = JSON.parse(readFileSync(join(root, "package.json"), "utf8"));

/** Parts of Node that the protocol's libraries need for what we hardly do, each some milliseconds of a start: loaded when used. */
const late = {
  name: "late",
  setup({ onResolve, onLoad }) {
    onResolve({ filter: /^(crypto|child_process)$/ }, ({ path, namespace }) =>
      namespace === "late" ? { path, external: true } : { path, namespace: "late" },
    );
    onLoad({ filter: /./, namespace: "late" }, ({ path }) => ({
      contents: `module.exports = new Proxy({}, { get: (_, name) => require("${path}")[name] });`,
    }));
  },
};

const node = { platform: "node", target: "node20", format: "cjs" };
const entries = [
  {
    source: "server/cli.ts",
    output: "cli.js",
    ...node,
    loads: 4,
    banner: { js: "#!/usr/bin/env node" },
  },
  {
    source: "server/cli/main.ts",
    output: "main.js",
    ...node,
    loads: 3,
    alias: { "node:child_process": "./server/cli/no-programs.ts" },
  },
  { source: "server/cli/worker.ts", output: "worker.js", loads: 3, ...node },
  { source: "server/cli/warm.ts", output: "warm.js", loads: 4, ...node },
  { source: "server/cli/collections.ts", output: "check.js", loads: 2, ...node },
  { source: "server/cli/commands.ts", output: "commands.js", loads: 1, ...node },
  { source: "server/cli/config-reader.ts", output: "config.js", ...node, mainFields: ["module", "main"] },
  { source: "server/lsp/start.ts", output: "lsp.js", loads: 1, ...node },
  { source: "server/lsp.ts", output: "server.js", ...node, mainFields: ["module", "main"], plugins: [late] },
  {
    source: "server/lsp.web.ts",
    output: "lsp.web.js",
    platform: "browser",
    target: "es2022",
    format: "iife",
  },
  { source: "client/extension.ts", output: "client.js", ...node, external: ["vscode"] },
  {
    source: "client/extension.web.ts",
    output: "client.web.js",
    platform: "browser",
    target: "es2022",
    format: "cjs",
    external: ["vscode"],
  },
];

/** Text of one byte a character is read and compiled in half the time: the few signs left in patterns are escaped as well. */
const plain = (text) =>
  text.replace(/[\u0080-\uffff]/g, (sign) => `\\u${sign.charCodeAt(0).toString(16).padStart(4, "0")}`);

// A package that asks where it stands (as an ES module does) is told the bundle's file.
const here = { "import.meta.url": "__filename" };
const define = { DERATE_VERSION: JSON.stringify(version), DERATE_BUNDLED: "true" };
const make = (chosen, more = {}) =>
  Promise.all(
    chosen.map(({ source, output, loads: _, ...options }) =>
      build({
        ...options,
        absWorkingDir: root,
        entryPoints: [source],
        outfile: join(dist, output),
        bundle: true,
        write: false,
        minify: true,
        legalComments: "none",
        logLevel: "warning",
        define: { ...define, ...(options.platform === "node" ? here : {}), ...more },
      }),
    ),
  )
    .then((results) =>
      results.flatMap(({ outputFiles }) =>
        outputFiles.map(({ path, text }) => ({ path, contents: Buffer.from(plain(text), "latin1") })),
      ),
    )
    .catch(() => process.exit(1)); // esbuild has told what is wrong

// Those that load others know the hash of each, so that compiled code is never taken for another text's: what is loaded is
// made first.
const there = entries.filter(({ source }) => existsSync(join(root, source)));
const made = [];
const hashes = {};
for (const stage of [0, 1, 2, 3, 4]) {
  const results = await make(
    there.filter(({ loads = 0 }) => loads === stage),
    { DERATE_BUNDLES: JSON.stringify(hashes) },
  );
  for (const { path, contents } of results)
    hashes[basename(path)] = createHash("sha256").update(contents).digest("hex").slice(0, 12);
  made.push(...results);
}

// Nothing of the last build is touched before all of this one is there.
rmSync(dist, { recursive: true, force: true });
mkdirSync(dist, { recursive: true });
// The sources are ES modules; the bundles are CommonJS, which starts sooner and is what an editor of 1.91 loads.
writeFileSync(join(dist, "package.json"), '{ "type": "commonjs" }\n');
for (const { path, contents } of made) writeFileSync(path, contents);
chmodSync(join(dist, "cli.js"), 0o755);
const netlists = readdirSync(join(root, "samples"))
  .filter((name) => name.endsWith(".ampnet"))
  .slice(0, 2)
  .map((name) => join("samples", name));
// What V8 makes of the bundles, for this version of Node: made in a process of its own, which runs them first.
execFileSync(process.execPath, [join(dist, "warm.js"), ...netlists], { cwd: root, stdio: "inherit" });
rmSync(join(dist, "warm.js"));
await warmServer(dist, join(root, netlists[0]));
