/** Bad input at the server: a finding or a line in the log, and it goes on answering. */
import { readFileSync, realpathSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { folder } from "../cli/host.ts";
import { built, Client } from "./client.ts";

const build = built();
const GOOD =
  'amp "Bench"\nsource B1 300V { plus: HT, minus: gnd }\nHT -- capacitor C1 100n 100V film -- gnd\n';
const codes = (items: readonly { code?: unknown }[]) => items.map(({ code }) => code);

describe("a file that is open", () => {
  let client: Client;
  beforeAll(async () => {
    client = await Client.start(build.dist);
  });
  afterAll(() => client.stop());

  it.each([
    [
      "larger than any amplifier",
      "resistor R1 1k\n".repeat(350_000),
      /5\.0 MB.*none of more than 4 MB is checked/,
    ],
    ["one line of thousands of parts", `a${" -- resistor R1 1k -- a".repeat(5000)}\n`, /R1/],
    ["thousands of parts of one name", "resistor R1 1k\n".repeat(10_000), /R1 is a resistor already/],
    ["thousands of wrong lines", "resistor resistor {{{ -- }\n".repeat(10_000), /./],
    ["one word of a megabyte", "x".repeat(1_000_000), /./],
    ["binary", String.fromCharCode(...Array.from({ length: 60_000 }, (_, i) => (i * 7919) % 0xd7ff)), /./],
    ["brackets alone", "{".repeat(200_000), /./],
  ])("%s: findings, and the server stays", { timeout: 240_000 }, async (name, text, told) => {
    const uri = `file:///bench/${encodeURIComponent(name)}.ampnet`;
    await client.open(uri, text);
    const { items } = await client.pull(uri);
    expect(items.length).toBeGreaterThan(0);
    expect(items.map(({ message }) => message).join("\n")).toMatch(told);
    for (const method of ["hover", "completion", "definition", "documentHighlight"])
      await client.connection.sendRequest(`textDocument/${method}`, {
        textDocument: { uri },
        position: { line: 0, character: 3 },
      });
    for (const method of ["documentSymbol", "foldingRange", "semanticTokens/full", "codeLens", "formatting"])
      await client.connection.sendRequest(`textDocument/${method}`, {
        textDocument: { uri },
        options: { tabSize: 2, insertSpaces: true },
      });
    await client.close(uri);
    const good = "file:///bench/good.ampnet";
    await client.open(good, GOOD);
    expect(codes((await client.pull(good)).items)).toContain("rating/capacitor-voltage");
    await client.close(good);
    expect(client.log.filter((line) => /failed:|fault of ours/i.test(line))).toEqual([]);
  });
});

describe("files on disk", () => {
  it("that include each other, go away while open, and get another name", async () => {
    const cwd = realpathSync(
      folder({
        "a.ampnet": `include "b.ampnet"\n${GOOD}`,
        "b.ampnet": 'include "a.ampnet"\nHT -- resistor R1 1M 1W 500V -- gnd\n',
        "alone.ampnet": GOOD,
      }),
    );
    const at = (name: string) => pathToFileURL(join(cwd, name)).href;
    const text = (name: string) => readFileSync(join(cwd, name), "utf8");
    const client = await Client.start(build.dist, cwd);
    await client.open(at("a.ampnet"), text("a.ampnet"));
    const round = await client.pull(at("a.ampnet"));
    expect(codes(round.items)).toContain("rating/capacitor-voltage");
    expect((await client.pull(at("b.ampnet"))).kind).toBe("full");

    // Gone from the disk: what is open still counts, until it is closed.
    const alone = text("alone.ampnet");
    await client.open(at("alone.ampnet"), alone);
    rmSync(join(cwd, "alone.ampnet"));
    await client.changed([join(cwd, "alone.ampnet")], 3);
    expect(codes((await client.pull(at("alone.ampnet"))).items)).toContain("rating/capacitor-voltage");
    await client.close(at("alone.ampnet"));
    expect((await client.pull(at("alone.ampnet"))).items).toEqual([]);

    // Another name: the old one has no findings left, the new one has them.
    writeFileSync(join(cwd, "old.ampnet"), GOOD);
    await client.changed([join(cwd, "old.ampnet")], 1);
    await client.open(at("old.ampnet"), GOOD);
    expect((await client.pull(at("old.ampnet"))).items.length).toBeGreaterThan(0);
    renameSync(join(cwd, "old.ampnet"), join(cwd, "new.ampnet"));
    await client.close(at("old.ampnet"));
    await client.open(at("new.ampnet"), GOOD);
    await client.changed([join(cwd, "old.ampnet")], 3);
    await client.changed([join(cwd, "new.ampnet")], 1);
    expect((await client.pull(at("old.ampnet"))).items).toEqual([]);
    expect((await client.pull(at("new.ampnet"))).items.length).toBeGreaterThan(0);

    // The included half changed on disk into nothing that can be read.
    writeFileSync(join(cwd, "b.ampnet"), new Uint8Array([0xff, 0xfe, 0x00]));
    await client.changed([join(cwd, "b.ampnet")]);
    expect(codes((await client.pull(at("a.ampnet"))).items)).toContain("rating/capacitor-voltage");
    await client.stop();
  });

  it("and a configuration that can't be read is told in the netlist and in itself", async () => {
    const cwd = realpathSync(
      folder({ "derate.config.json": new Uint8Array([0xff, 0xfe, 0x7b]), "a.ampnet": GOOD }),
    );
    const netlist = join(cwd, "a.ampnet");
    const client = await Client.start(build.dist, cwd);
    await client.open(pathToFileURL(netlist).href, GOOD);
    const told = async () =>
      (await client.pull(pathToFileURL(netlist).href)).items.map(({ message }) => message).join("\n");
    expect(await told()).toMatch(/it can't be read: not a text file in UTF-8/);
    writeFileSync(join(cwd, "derate.config.json"), "{}");
    await client.changed([join(cwd, "derate.config.json")]);
    expect(await told()).not.toMatch(/can't be read/);
    await client.stop();
  });
});
