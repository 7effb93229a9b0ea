/** The server driven by a second real client: neovim's own, as Debian has it. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, inject, test } from "vitest";
import { run } from "./processes.ts";

const folder = mkdtempSync(join(tmpdir(), "derate-neovim-"));
const text = readFileSync(join(import.meta.dirname, "../../../samples/fantail-5.ampnet"), "utf8").replace(
  "C20 32u 450V",
  "C20 32u 250V",
);

interface Seen {
  readonly fault?: string;
  readonly diagnostics: readonly { message: string; line: number; severity: number; code: string }[];
  readonly hover: string;
  readonly renamed: string;
  readonly refused?: string;
  readonly after: readonly { message: string }[];
}
let seen: Seen;

beforeAll(async () => {
  const file = join(folder, "fantail-5.ampnet");
  const out = join(folder, "seen.json");
  writeFileSync(file, text);
  await run("nvim", ["--headless", "--clean", "-S", join(import.meta.dirname, "neovim.lua")], 120, {
    cwd: folder,
    env: {
      ...process.env,
      HOME: folder,
      XDG_STATE_HOME: folder,
      DERATE_NODE: process.execPath,
      DERATE_SERVER: join(inject("dist"), "lsp.js"),
      DERATE_FILE: file,
      DERATE_OUT: out,
    },
  });
  seen = JSON.parse(readFileSync(out, "utf8"));
  if (seen.fault) throw new Error(seen.fault);
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("findings are pushed to a client that cannot pull", () => {
  const line = text.split("\n").findIndex((line) => line.includes("C20 32u")) + 1;
  const over = seen.diagnostics.filter(({ message }) => message.startsWith("C20 sees"));
  expect(over).toHaveLength(1);
  expect(over[0]).toMatchObject({ line, severity: 1 });
});

test("hover shows the margins", () => {
  expect(seen.hover).toContain("**C20** · capacitor");
  expect(seen.hover).toMatch(/\| capacitor voltage \| \d+ V \|/);
});

test("a net is renamed at every mention, comments and longer names left alone", () => {
  expect(seen.renamed).toBe(text.replace(/^(?!#)(.*)$/gm, (line) => line.replace(/\bHT1\b/g, "B1")));
});

test("a rename that would join two nets is refused, and says so", () => {
  expect(seen.refused).toMatch(/join the two nets/);
});

test("an edit reaches the server, and the finding goes", () => {
  expect(seen.after.some(({ message }) => message.startsWith("C20 sees"))).toBe(false);
});
