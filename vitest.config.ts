import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["tests/**/*.test.ts"],
    // A loaded machine of two cores runs a property test slowly; a hang is still caught.
    testTimeout: 180_000,
    hookTimeout: 120_000,
    // As the server and the command line are started (server/lsp/start.ts, server/cli/engine.ts).
    execArgv: ["--no-allocation-site-pretenuring"],
    benchmark: { include: ["tests/bench/**/*.bench.ts"] },
    coverage: { include: ["grammar/**/*.ts", "server/**/*.ts", "client/**/*.ts"] },
  },
});
