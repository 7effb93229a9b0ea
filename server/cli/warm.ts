/**
 * Part of the build: runs the bundles as a short command does, and keeps the code that V8 made of them.
 * Arguments: the netlists to run them on.
 */
import { writeFileSync } from "node:fs";
import { codeOf } from "./bundle.ts";
import type { Host } from "./host.ts";
import { type Checking, type Commands, loadChecking } from "./load.ts";
import { loadConfigReader } from "./load-config-reader.ts";
import { loadMain } from "./load-main.ts";

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
  await warmMain(netlists);
  const { check } = await loadChecking();
  await check(netlists, { format: "text", threads: "1" }, host);
  await loadConfigReader();
  for (const name of ["check.js", "commands.js", "config.js"]) keep(name);
}

/** Before anything is loaded that says something to V8: the code is only taken again where the same was said. */
async function warmMain(netlists: readonly string[]): Promise<void> {
  const { program, run } = await loadMain();
  const nothing = { check: async () => 0 } as unknown as Checking;
  const commands = {} as Commands;
  const load = { commands: async () => commands, checking: async () => nothing };
  await program(host, load, () => {}).parseAsync(["check", ...netlists], { from: "user" });
  await run(["--version"], host);
  keep("main.js");
}

function keep(name: string): void {
  const code = codeOf(name);
  if (code) writeFileSync(code.path, code.data);
}

void warm(process.argv.slice(2));
