import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["tests/**/*.test.ts"],
    // A loaded machine of two cores runs a property test slowly; a hang is still caught.
    testTimeout: 180_000,
    hookTimeout: 120_000,
    benchmark: { include: ["tests/bench/**/*.bench.ts"] },
    coverage: { include: ["grammar/**/*.ts", "server/**/*.ts", "client/**/*.ts"] },
  },
});
