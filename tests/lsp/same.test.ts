/** The editor and the command line say the same of the same files, whatever the configuration. */
import { spawnSync } from "node:child_process";
import { readdirSync, readFileSync, realpathSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { describe, expect, it } from "vitest";
import type { Diagnostic } from "vscode-languageserver-protocol/node";
import { configSchema } from "../../server/config/schema.ts";
import { checkSchema } from "../../server/reports/schema.ts";
import { folder } from "../cli/host.ts";
import { built, Client } from "./client.ts";

const samples = resolve(import.meta.dirname, "../../samples");
const build = built();

const own = {
  valves: [
    {
      type: "TB20",
      kind: "triode",
      law: { k_mA_per_V1p5: 0.942809, mu: 20 },
      limits: { rating_system: "design-centre", plate_V: 300, plate_W: 0.5 },
    },
  ],
};
const configuration = {
  $schema: "../derate.config.schema.json",
  extends: ["base/shop.json"],
  severity: { "rating/resistor-power": "advice", supply: "warning", "circuit/single-use-net": "off" },
  margins: { resistor: 0.4 },
  region: "AU",
  ambient: 50,
  valves: ["own.json"],
  ignore: ["old/", "stages/"],
  overrides: [
    {
      files: ["bench/**"],
      ambient: 20,
      region: "US",
      margins: { resistor: 0.9 },
      severity: { rating: "unchecked" },
      valves: ["bench/more.json"],
    },
  ],
};

function collection(): string {
  const files: Record<string, string> = {
    "derate.config.json": JSON.stringify(configuration, undefined, 2),
    "base/shop.json":
      '{ "ambient": 60, "severity": { "mains": "warning", "rating": "warning" }, "valves": ["shop-valves.json"] }',
    "base/shop-valves.json": JSON.stringify({ ...own.valves[0], type: "SHOP1" }),
    "own.json": JSON.stringify(own),
    "bench/more.json": JSON.stringify({
      ...own.valves[0],
      type: "BENCH1",
      law: { k_mA_per_V1p5: 3, mu: 50 },
    }),
    "old/bad.ampnet": "resistor R1 1k { a: b, a: c }\n",
    ".derateignore": "attic\n",
    "attic/worse.ampnet": "{{{",
    "stages/stage.ampnet":
      "block gain(i, o, ht) {\nvalve V1 TB20 { plate: o, grid: i, cathode: k }\nht -- resistor R1 22k 0.5W -- o\nk -- resistor R2 470R 0.25W -- gnd\n}\n",
    "own.ampnet":
      'amp "Own"\nmains 230 V 50 Hz\nsource B1 350V { plus: HT, minus: gnd }\ninclude "stages/stage.ampnet"\nuse gain(gnd, p, HT) as N\nvalve V2 SHOP1 { plate: HT, grid: gnd, cathode: k2 }\nk2 -- resistor R3 1k 0.5W -- gnd\nwaive valve/plate-dissipation on V2 because "a bench set-up"\n',
    "bench/dividers.ampnet":
      "mains 120 V 60 Hz\nsource B1 300V { plus: HT, minus: gnd }\nHT -- resistor R1 10k 5W -- p\nvalve V1 BENCH1 { plate: p, grid: gnd, cathode: k }\nk -- resistor R2 100R 1W -- gnd\ntap -- capacitor C1 10u 63V -- HT\nresitor R9 1k\n",
  };
  for (const name of readdirSync(samples))
    if (name.endsWith(".ampnet"))
      files[`${name < "currawong" ? "" : "bench/deep/"}${name}`] = readFileSync(join(samples, name), "utf8");
  return realpathSync(folder(files));
}

interface Told {
  readonly rule: string;
  readonly severity: number;
  readonly message: string;
  readonly line: number;
  readonly character: number;
}
const order = (a: Told, b: Told) => JSON.stringify(a).localeCompare(JSON.stringify(b));
const numbers = { error: 1, warning: 2, advice: 3, unchecked: 4 } as const;

function byCommand(cwd: string): Map<string, Told[]> {
  const ran = spawnSync(process.execPath, [join(build.dist, "cli.js"), "check", ".", "--format", "json"], {
    cwd,
    encoding: "utf8",
    maxBuffer: 1 << 28,
  });
  expect(ran.stderr).toBe("");
  const byFile = new Map<string, Told[]>();
  for (const { findings } of checkSchema.parse(JSON.parse(ran.stdout)).files)
    for (const { rule, severity, message, file, range, waived } of findings) {
      const told = {
        rule,
        severity: waived ? 3 : numbers[severity],
        message: waived ? `Waived (${waived.reason}): ${message}` : message,
        line: range.start.line,
        character: range.start.character,
      };
      const key = String(file);
      const list = byFile.get(key);
      if (list) list.push(told);
      else byFile.set(key, [told]);
    }
  return byFile;
}

const toldOf = (items: readonly Diagnostic[]): Told[] =>
  items.map(({ code, severity, message, range }) => ({
    rule: String(code),
    severity: severity as number,
    message: String(message),
    line: range.start.line,
    character: range.start.character,
  }));

describe("the editor and the command line", () => {
  it("find the same in a collection with a configuration of every key", { timeout: 180_000 }, async () => {
    // A key that is new belongs into this configuration, too.
    expect(Object.keys(configuration).sort()).toEqual(Object.keys(configSchema.shape).sort());
    const override = configSchema.shape.overrides.unwrap().element.shape;
    expect(Object.keys(configuration.overrides[0]).sort()).toEqual(Object.keys(override).sort());

    const cwd = collection();
    const expected = byCommand(cwd);
    expect(expected.size).toBeGreaterThan(8);
    const client = await Client.start(build.dist, cwd);
    const inFolder = new Map<string, Told[]>();
    for (const { uri, items } of await client.pullFolder())
      if (items.length > 0) inFolder.set(fileURLToPath(uri).slice(cwd.length + 1), toldOf(items));
    expect([...inFolder.keys()].sort()).toEqual([...expected.keys()].sort());
    for (const [file, told] of expected)
      expect(inFolder.get(file)?.sort(order), file).toEqual(told.sort(order));
    // And so does each file when it is opened.
    for (const [file, told] of expected) {
      const uri = pathToFileURL(join(cwd, file)).href;
      await client.open(uri, readFileSync(join(cwd, file), "utf8"));
      expect(toldOf((await client.pull(uri)).items).sort(order), file).toEqual(told);
    }
    await client.stop();
  });

  it("follow a change of the configuration and of a file of valves, and outlive broken ones", async () => {
    const netlist =
      'amp "Own"\nsource B1 350V { plus: HT, minus: gnd }\nHT -- resistor R1 22k 1W -- p\nvalve V1 TB20 { plate: p, grid: gnd, cathode: k }\nk -- resistor R2 100R 1W -- gnd\n';
    const cwd = realpathSync(
      folder({
        "derate.config.json": '{ "valves": ["own.json"] }',
        "own.json": JSON.stringify(own),
        "a.ampnet": netlist,
      }),
    );
    const uri = pathToFileURL(join(cwd, "a.ampnet")).href;
    const config = join(cwd, "derate.config.json");
    const client = await Client.start(build.dist, cwd);
    await client.open(uri, netlist);
    const rules = async () => (await client.pull(uri)).items.map(({ code }) => code);
    expect(await rules()).toContain("valve/plate-dissipation");
    const before = client.refreshes;

    writeFileSync(join(cwd, "own.json"), JSON.stringify(own).replace('"plate_W":0.5', '"plate_W":5'));
    await client.changed([join(cwd, "own.json")]);
    await client.until(() => client.refreshes > before, "asked to pull again");
    expect(await rules()).not.toContain("valve/plate-dissipation");

    writeFileSync(join(cwd, "own.json"), '[{ "type": "TB20", "kind": "triod" }]');
    await client.changed([join(cwd, "own.json")]);
    const broken = await client.pull(uri);
    const told = broken.items.find(({ code }) => code === "configuration");
    expect(told?.severity).toBe(1);
    expect(told?.message).toMatch(/own\.json, line 1: valves\[0\]\.kind: expected one of "triode"/);
    const wrong = client.pushed.at(-1);
    expect(wrong?.uri).toBe(pathToFileURL(join(cwd, "own.json")).href);
    expect(wrong?.diagnostics[0].range.start).toEqual({ line: 0, character: 27 });
    expect(client.log.join("\n")).toMatch(/own\.json:1:28: valves\[0\]\.kind/);

    writeFileSync(config, '{ "severty": {} ');
    await client.changed([config, join(cwd, "own.json")]);
    expect((await client.pull(uri)).items.map(({ message }) => message).join("\n")).toMatch(
      /configuration is wrong.*derate\.config\.json, line 1: a closing brace/,
    );
    writeFileSync(config, '{ "severity": { "circuit": "off" } }');
    await client.changed([config]);
    const mended = await client.pull(uri);
    expect(mended.items.map(({ code }) => code)).not.toContain("configuration");
    const last = new Map(client.pushed.map(({ uri: file, diagnostics }) => [file, diagnostics.length]));
    expect([...last.values()]).toEqual([...last.values()].map(() => 0));
    await client.stop();
  });
});
