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

/** Position of the figure of the first resistor, which is typed over and over. */
function figureOf(text: string) {
  const lines = text.split("\n");
  const line = lines.findIndex((one) => /resistor R\d+ [\d.]+k?/.test(one));
  const [whole] = /resistor R\d+ [\d.]+/.exec(lines[line]) ?? [""];
  const character = lines[line].indexOf(whole) + whole.length;
  return { line, character };
}

const uri = "file:///bench/amplifier.ampnet";

async function typing(client: Client, text: string, times: number, each: (client: Client) => Promise<void>) {
  const place = figureOf(text);
  for (let i = 0; i < times; i++) {
    // A digit typed and taken away again.
    const end = { ...place, character: place.character + (i % 2) };
    await client.connection.sendNotification("textDocument/didChange", {
      textDocument: { uri, version: i + 2 },
      contentChanges: [{ range: { start: place, end }, text: i % 2 === 0 ? "1" : "" }],
    });
    await each(client);
  }
}

async function measure(name: string, text: string, count: number): Promise<void> {
  const client = await Client.start(dist);
  await client.open(uri, text);
  await client.pull(uri);
  const keys: number[] = [];
  const warm = Math.min(20, count);
  await typing(client, text, warm + count, async () => {
    const begun = performance.now();
    await client.pull(uri);
    keys.push(performance.now() - begun);
  });
  told(`${name}: keystroke to findings`, keys.slice(warm));

  const hovers: number[] = [];
  const position = figureOf(text);
  await typing(client, text, count, async () => {
    const findings = client.pull(uri);
    // Somewhere in the middle of the check.
    await new Promise((done) => setTimeout(done, 5));
    const begun = performance.now();
    await client.connection.sendRequest("textDocument/hover", { textDocument: { uri }, position });
    hovers.push(performance.now() - begun);
    await findings;
  });
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

/** What `client/extension.ts` starts it with. */
const extension = { flags: ["--max-semi-space-size=4"], env: { MALLOC_ARENA_MAX: "2" } };

/** Resident megabytes along two thousand edits, of which every fifth is checked. */
async function remembered(started: string, more = {}): Promise<Record<string, string>> {
  const client = await Client.start(dist, undefined, true, more);
  const text = amplifier();
  await client.open(uri, text);
  await client.pull(uri);
  const row: Record<string, string> = { started, "0": resident(client) };
  let edits = 0;
  await typing(client, text, 2000, async () => {
    if (++edits % 5 === 0) await client.pull(uri);
    if (edits % 500 === 0) row[edits] = resident(client);
  });
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
      await measure("5,000 parts", large(), 5);
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
