/**
 * Part of the build: runs the bundles as a short command does, and keeps the code that V8 made of them.
 * Arguments: the netlists to run them on.
 */
import { writeFileSync } from "node:fs";
import { codeOf } from "./bundle.ts";
import type { Host } from "./host.ts";
import { loadChecking } from "./load.ts";
import { loadConfigReader } from "./load-config-reader.ts";

const host: Host = {
  cwd: process.cwd(),
  env: {},
  terminal: false,
  today: "2026-01-01",
  out: () => {},
  err: () => {},
  readInput: async () => new Uint8Array(),
};

async function warm(netlists: readonly string[]): Promise<void> {
  const { check } = await loadChecking();
  await check(netlists, { format: "text", threads: "1" }, host);
  await loadConfigReader();
  for (const name of ["check.js", "commands.js", "config.js"]) {
    const code = codeOf(name);
    if (code) writeFileSync(code.path, code.data);
  }
}

void warm(process.argv.slice(2));
