/** A host in memory, and folders on disk for a test. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { onTestFinished } from "vitest";
import type { Host } from "../../server/cli/host.ts";
import { run } from "../../server/cli/run.ts";

/** A new folder with these files, gone when the test ends. */
export function folder(files: Readonly<Record<string, string | Uint8Array>> = {}): string {
  const root = mkdtempSync(join(tmpdir(), "derate-"));
  onTestFinished(() => rmSync(root, { recursive: true, force: true }));
  for (const [path, content] of Object.entries(files)) {
    mkdirSync(dirname(join(root, path)), { recursive: true });
    writeFileSync(join(root, path), content);
  }
  return root;
}

export interface Ran {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

/** Runs the command line in this process. */
export async function derate(cwd: string, args: readonly string[], host: Partial<Host> = {}): Promise<Ran> {
  let out = "";
  let err = "";
  const code = await run(args, {
    cwd,
    env: {},
    terminal: false,
    today: "2026-06-01",
    out: (text) => {
      out += text;
    },
    err: (text) => {
      err += text;
    },
    readInput: async () => new Uint8Array(),
    ...host,
  });
  return { code, out, err };
}
