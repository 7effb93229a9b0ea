import { defineConfig } from "vitest/config";

/** Real clients, one after another: an editor in a browser, a browser without a server, neovim. Run by `npm run test:editor`. */
export default defineConfig({
  test: {
    root: new URL("../..", import.meta.url).pathname,
    include: ["tests/editor/clients/**/*.spec.ts"],
    globalSetup: ["tests/editor/clients/setup.ts"],
    fileParallelism: false,
    // The steps of a file go on from each other: after one that fails, the rest would only say the same.
    bail: 1,
    testTimeout: 90_000,
    hookTimeout: 180_000,
  },
});
