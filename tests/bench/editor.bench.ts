/**
 * The language server as an editor sees it, over stdio: from a keystroke to its findings, a hover asked for meanwhile, and the
 * memory after a long day of typing. Printed as a table, since the spread matters and not the mean alone; beside it the
 * answer to a request that costs nothing, which is the channel's own share.
 */
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, bench, describe } from "vitest";
import { Client } from "../lsp/client.ts";
import { amplifier } from "./amplifier.ts";

const root = resolve(import.meta.dirname, "../..");
const folder = mkdtempSync(join(tmpdir(), "derate-bench-"));
const dist = join(folder, "dist");
execFileSync(process.execPath, ["scripts/build.mjs", dist], { cwd: root });
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A thousand gain stages of five parts on one supply. */
function large(): string {
  const lines = ['amp "A thousand stages"', "source B1 250V 1R { plus: HT, minus: gnd }"];
  for (let i = 0; i < 1000; i++) {
    lines.push(
      `valve V${i} ECC83 { a { plate: p${i}, grid: g${i}, cathode: k${i} } }`,
      `HT -- resistor R${4 * i + 1} 100k 1W -- p${i}`,
      `k${i} -- resistor R${4 * i + 2} 1k5 0.5W -- gnd`,
      `g${i} -- resistor R${4 * i + 3} 1M 0.5W -- gnd`,
      `p${i} -- capacitor C${i} 22n 400V film -- g${(i + 1) % 1000}`,
    );
  }
  return `${lines.join("\n")}\n`;
}

const times: Record<string, Record<string, string>> = {};
function told(what: string, milliseconds: readonly number[]): void {
  const sorted = [...milliseconds].sort((a, b) => a - b);
  const at = (share: number) =>
    sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))].toFixed(1);
  times[what] = { median: at(0.5), p99: at(0.99), most: at(1), times: String(sorted.length) };
}

/** What `client/extension.ts` starts it with. */
const extension = { flags: ["--max-semi-space-size=4"], env: { MALLOC_ARENA_MAX: "2" } };

interface Position {
  readonly line: number;
  readonly character: number;
}

/** Where the first match ends. */
function behind(text: string, pattern: RegExp): Position {
  const lines = text.split("\n");
  const line = lines.findIndex((one) => pattern.test(one));
  const [whole] = pattern.exec(lines[line]) ?? [""];
  return { line, character: lines[line].indexOf(whole) + whole.length };
}
const figureOf = (text: string) => behind(text, /resistor R\d+ [\d.]+/);

/** What stands behind a place at each edit: the edit before is what is there already. */
type Typed = (edit: number) => string;

/** As users make them, each behind a place of the text. */
const edits: Record<string, { readonly at: (text: string) => Position; readonly typed: Typed }> = {
  "a value that was never there": { at: figureOf, typed: (n) => `.${100 + n}` },
  "a digit, and taken away again": { at: figureOf, typed: (n) => (n % 2 === 0 ? "1" : "") },
  "four digits, and taken away again": {
    at: figureOf,
    typed: (n) => String(10_000 + 7 * Math.floor(n / 8)).slice(0, 4 - Math.abs(4 - (n % 8))),
  },
  "a rating that was never there": {
    at: (text) => behind(text, /resistor R\d+ \S+ [\d.]+(?=W)/),
    typed: (n) => `${100 + n}`,
  },
  "a comment, letter by letter": {
    at: (text) => behind(text, /^[^#]*capacitor C1\d? .*$/),
    typed: (n) => ` # ${"to be looked at again, ".repeat(10).slice(0, n)}`,
  },
};

const uri = "file:///bench/amplifier.ampnet";

class Editing {
  private version = 1;
  private there = "";

  constructor(
    private readonly client: Client,
    private readonly at: Position,
    private readonly typed: Typed,
  ) {}

  async edit(n: number): Promise<void> {
    const text = this.typed(n);
    const end = { ...this.at, character: this.at.character + this.there.length };
    this.there = text;
    await this.client.connection.sendNotification("textDocument/didChange", {
      textDocument: { uri, version: ++this.version },
      contentChanges: [{ range: { start: this.at, end }, text }],
    });
  }
}

async function measure(name: string, text: string, count: number, kinds = Object.keys(edits)): Promise<void> {
  const warm = Math.min(20, count);
  for (const what of kinds) {
    const { at, typed } = edits[what];
    const client = await Client.start(dist, undefined, true, extension);
    await client.open(uri, text);
    await client.pull(uri);
    const editing = new Editing(client, at(text), typed);
    const keys: number[] = [];
    for (let n = 0; n < warm + count; n++) {
      const begun = performance.now();
      await editing.edit(n);
      await client.pull(uri);
      if (n >= warm) keys.push(performance.now() - begun);
    }
    told(`${name}: ${what}`, keys);
    await client.stop();
  }

  const client = await Client.start(dist, undefined, true, extension);
  await client.open(uri, text);
  await client.pull(uri);
  const position = figureOf(text);
  const editing = new Editing(client, position, edits["a value that was never there"].typed);
  const hovers: number[] = [];
  for (let n = 0; n < count; n++) {
    await editing.edit(n);
    const findings = client.pull(uri);
    // Somewhere in the middle of the check.
    await new Promise((done) => setTimeout(done, 5));
    const begun = performance.now();
    await client.connection.sendRequest("textDocument/hover", { textDocument: { uri }, position });
    hovers.push(performance.now() - begun);
    await findings;
  }
  told(`${name}: hover while it is checked`, hovers);
  const nothing: number[] = [];
  for (let i = 0; i < 100; i++) {
    const begun = performance.now();
    await client.connection.sendRequest("completionItem/resolve", { label: "x" });
    nothing.push(performance.now() - begun);
  }
  told(`${name}: a request that costs nothing`, nothing);
  await client.stop();
}

/** In megabytes, as Linux tells it. */
function resident(client: Client): string {
  const status = readFileSync(`/proc/${client.child.pid}/status`, "utf8");
  return (Number(/VmRSS:\s+(\d+)/.exec(status)?.[1]) / 1024).toFixed(0);
}

/** Resident megabytes along two thousand edits, of which every fifth is checked: values there and back, and new ones. */
async function remembered(started: string, more = {}): Promise<Record<string, string>> {
  const client = await Client.start(dist, undefined, true, more);
  const text = amplifier();
  await client.open(uri, text);
  await client.pull(uri);
  const row: Record<string, string> = { started, "0": resident(client) };
  const editing = new Editing(client, figureOf(text), (n) =>
    n % 10 < 5 ? edits["four digits, and taken away again"].typed(n) : `.${n}`,
  );
  for (let n = 1; n <= 2000; n++) {
    await editing.edit(n);
    if (n % 5 === 0) await client.pull(uri);
    if (n % 500 === 0) row[n] = resident(client);
  }
  await client.stop();
  return row;
}

let measured = false;

describe("the language server", () => {
  const once = { iterations: 1, time: 0, warmupIterations: 0, warmupTime: 0 };
  bench(
    "everything, once",
    async () => {
      // The bench's own machinery calls this more than once.
      if (measured) return;
      measured = true;
      await measure("156 parts", amplifier(), 60);
      await measure("5,000 parts", large(), 4, [
        "a value that was never there",
        "a comment, letter by letter",
      ]);
      console.table(times);
      const memory = [
        await remembered("by itself"),
        await remembered("as the extension starts it", extension),
      ];
      console.table(memory);
    },
    once,
  );
});
