/**
 * Valve types of the user's own, from the files that a configuration names to the voltages that the command prints.
 * The stages are textbook ones with a stated three-halves law, solved outside the project (closed forms and scipy's
 * root finder), held to 0.5 %.
 */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { derate, folder } from "./host.ts";

const triode = (type: string, k: number, mu: number) => ({
  type,
  kind: "triode",
  law: { k_mA_per_V1p5: k, mu },
});
const twenty = triode("TB20", 0.942809, 20);
const seventeen = triode("TB17", 0.679179, 17);
const hundred = triode("TB100", 3.39411, 100);
const pentode = {
  type: "TBP",
  kind: "pentode",
  law: { k_mA_per_V1p5: 3.77347, mu: 19, plate_share: 0.897196 },
};
const config = '{ "valves": ["shop/valves.json"] }';

/** Nominal volts at idle of every net. */
async function volts(netlist: string, valves: object): Promise<Record<string, number>> {
  const cwd = folder({
    "derate.config.json": config,
    "shop/valves.json": JSON.stringify(valves),
    "a.ampnet": netlist,
  });
  const ran = await derate(cwd, ["volts", "a.ampnet", "--format", "json"]);
  expect(ran.code, ran.err).toBe(0);
  const { nets } = JSON.parse(ran.out).states.idle.nominal;
  return Object.fromEntries(
    Object.entries(nets as Record<string, { volts: number }>).map(([name, net]) => [name, net.volts]),
  );
}

const stage = (type: string, supply: number, ra: number, rk: number, grid = "gnd", more = "") =>
  `source B1 ${supply}V { plus: HT, minus: gnd }
HT -- resistor R1 ${ra}R 5W -- p
valve V1 ${type} { plate: p, grid: ${grid}, cathode: k }
k -- resistor R2 ${rk}R 5W -- gnd
${more}`;

describe("stages with a law that is stated", () => {
  it("in one bottle: a triode and a pentode, each with its own", async () => {
    const bottle = {
      type: "TBTP",
      kind: "triode-pentode",
      sections: [
        { name: "triode", law: twenty.law, limits: { plate_W: 1 } },
        { name: "pentode", law: pentode.law, limits: { plate_W: 9 } },
      ],
    };
    const text = `source B1 350V { plus: HT, minus: gnd }
HT -- resistor R1 47k 5W -- p
k -- resistor R2 1k 5W -- gnd
source B2 250V { plus: HT2, minus: gnd }
valve V1 TBTP {
  triode { plate: p, grid: gnd, cathode: k }
  pentode { plate: HT2, screen: HT2, grid: gnd, cathode: kp }
}
kp -- resistor R3 135R 5W -- gnd
`;
    const found = await volts(text, bottle);
    // The triode as above; the pentode by bisection, as in tests/published/valves-law.test.ts.
    for (const [net, expected] of [
      ["p", 146.31],
      ["k", 4.3339],
      ["kp", 7.0328],
    ] as const)
      expect(Math.abs(found[net] / expected - 1), net).toBeLessThan(0.005);
  });

  it.each([
    ["a self-biased triode of mu 20", stage("TB20", 350, 47e3, 1000), { p: 146.31, k: 4.3339 }],
    ["one of mu 17", stage("TB17", 250, 1e5, 2200), { p: 92.27, k: 3.4701 }],
    ["one of mu 100", stage("TB100", 400, 1e5, 820), { p: 217.39, k: 1.4974 }],
    [
      "split loads",
      stage("TB17", 350, 33e3, 33e3, "g", "source B2 85V { plus: g, minus: gnd }"),
      { p: 257.82, k: 92.177 },
    ],
    [
      "a follower coupled direct",
      stage(
        "TB100",
        300,
        1e5,
        1500,
        "gnd",
        "valve V2 TB100 { plate: HT, grid: p, cathode: k2 }\nk2 -- resistor R3 100k 5W -- gnd",
      ),
      { p: 198.5, k2: 198.81 },
    ],
    [
      "a long-tailed pair on its own tail",
      `source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 100k 5W -- p1
HT -- resistor R2 100k 5W -- p2
valve V1 TB100 { plate: p1, grid: g, cathode: k }
valve V2 TB100 { plate: p2, grid: g, cathode: k }
k -- resistor R3 470R -- g -- resistor R4 10k 5W -- gnd`,
      { p1: 183.26, p2: 183.26, k: 24.444, g: 23.347 },
    ],
    [
      "a pentode on a cathode resistor",
      `source B1 250V { plus: HT, minus: gnd }
valve V1 TBP { plate: HT, screen: HT, grid: gnd, cathode: k }
k -- resistor R1 135R 5W -- gnd`,
      { k: 7.0328 },
    ],
    [
      "two of them on one",
      `source B1 300V { plus: HT, minus: gnd }
valve V1 TBP { plate: HT, screen: HT, grid: gnd, cathode: k }
valve V2 TBP { plate: HT, screen: HT, grid: gnd, cathode: k }
k -- resistor R1 270R 5W -- gnd`,
      { k: 11.916 },
    ],
  ])("%s", async (_, netlist, expected) => {
    const found = await volts(netlist, { valves: [twenty, seventeen, hundred, pentode] });
    for (const [net, value] of Object.entries(expected))
      expect(Math.abs(found[net] / value - 1), `${net}: ${found[net]} V, not ${value} V`).toBeLessThan(0.005);
  });

  it("a rectifier of its own drop feeds its supply", async () => {
    const supply = (type: string) => `mains 230 V 50 Hz
cord W1 1mm2 10A { active: inA, neutral: inN }
transformer T1 50VA { primary 230V 10R { inA inN }
ht 250-0-250V 100mA 100R { a gnd b }
heater 5V 3A { f1 f2 } }
valve V1 ${type} { plate1: a, plate2: b, cathode: f1, heater: f1 f2 }
f1 -- capacitor C1 32u 450V electrolytic -- gnd
f1 -- resistor R1 4k 50W -- gnd`;
    const own = (drop: number) => ({
      type: "RX5",
      kind: "rectifier",
      heating: "direct",
      heater: { arrangements: [{ name: "single", volts: 5, amps: 2 }] },
      drop: [{ mA_per_plate: 100, drop_V: drop }],
    });
    const low = (await volts(supply("RX5"), own(10))).f1;
    const high = (await volts(supply("RX5"), own(50))).f1;
    expect(low).toBeGreaterThan(high + 20);
    expect(low).toBeLessThan(250 * Math.SQRT2 * 1.15);
  });
});

describe("a type that gives points", () => {
  const own = {
    type: "6J5X",
    kind: "triode",
    equivalents: ["L63X"],
    heater: { arrangements: [{ name: "single", volts: 6.3, amps: 0.3 }] },
    limits: { rating_system: "design-centre", plate_V: 300, plate_W: 2.5 },
    // Published for the 6J5 (RCA Receiving Tube Manual RC-19, class A1 amplifier), from memory.
    points: [
      { plate_V: 250, grid_V: -8, plate_mA: 9, gm_umho: 2600, rp_ohm: 7700 },
      { plate_V: 90, grid_V: 0, plate_mA: 10, gm_umho: 3000, rp_ohm: 6700 },
    ],
  };
  it("is fitted to them, by each of its names", async () => {
    // At its published point: 250 V on the plate and 8 V of bias, 9 mA.
    const netlist = (type: string) => `source B1 250V { plus: HT, minus: gnd }
HT -- resistor R1 1R 1W -- p
valve V1 ${type} { plate: p, grid: g, cathode: gnd }
source B2 8V { plus: gnd, minus: g }`;
    const amps = async (type: string) => 250 - (await volts(netlist(type), own)).p;
    expect(await amps("6J5X")).toBeGreaterThan(0.0085);
    expect(await amps("6J5X")).toBeLessThan(0.0095);
    expect(await amps("l63x")).toBe(await amps("6J5X"));
  });

  it("is held to its limits by the check, and takes the place of a published one of its name", async () => {
    const netlist = `source B1 400V { plus: HT, minus: gnd }
valve V1 TYPE { plate: HT, grid: gnd, cathode: k }
k -- resistor R1 330R 1W -- gnd\n`;
    const cwd = folder({
      "derate.config.json": config,
      "shop/valves.json": JSON.stringify([own, { ...own, type: "EL84", equivalents: [] }]),
      "own.ampnet": netlist.replace("TYPE", "6J5X"),
      "place.ampnet": netlist.replace("TYPE", "EL84"),
    });
    const found = async (file: string, ...more: string[]) =>
      JSON.parse((await derate(cwd, ["check", file, "--format", "json", ...more])).out)
        .files[0].findings.filter(({ severity }: { severity: string }) => severity === "error")
        .map(({ rule }: { rule: string }) => rule);
    expect(await found("own.ampnet")).toContain("valve/plate-dissipation");
    expect(await found("place.ampnet")).toContain("valve/plate-dissipation");
    // Without the configuration the name is not known.
    expect(await found("own.ampnet", "--no-config")).toContain("circuit/unknown-type");
  });

  it("counts in the cache, in a baseline and in a comparison by what its file holds", async () => {
    const cwd = folder({
      "derate.config.json": config,
      "shop/valves.json": JSON.stringify(own),
      "a.ampnet": stage("6J5X", 250, 22e3, 1000),
    });
    const margins = async () => (await derate(cwd, ["check", "a.ampnet", "--cache", "--format", "csv"])).out;
    const before = await margins();
    expect(before).toContain("2.5");
    expect(await margins()).toBe(before);
    writeFileSync(
      join(cwd, "shop/valves.json"),
      JSON.stringify({ ...own, limits: { ...own.limits, plate_W: 0.1 } }),
    );
    expect(await margins()).not.toBe(before);
    expect((await derate(cwd, ["baseline", "write", "a.ampnet", "--baseline", "b.json"])).out).toMatch(
      /b\.json: [1-9]\d* findings? of 1 file/,
    );
    const compared = await derate(cwd, ["compare", "a.ampnet", "a.ampnet"]);
    expect(compared).toMatchObject({ code: 0, err: "" });
  });
});

describe("a bad file", () => {
  it.each([
    [
      '{ "valves": [{ "type": "X", "kind": "triode",\n  "law": { "k_mA_per_V1p5": "2", "mu": 20 } }] }',
      "shop/valves.json:2:29: valves[0].law.k_mA_per_V1p5: expected number, received string",
    ],
    [
      '[{ "type": "X", "kind": "triode",\n  "limits": { "plate_Volts": 3 } }]',
      'shop/valves.json:2:15: valves[0].limits: unknown field "plate_Volts"',
    ],
    [
      '{ "type": "X", "kind": "hexode" }',
      'shop/valves.json:1:24: kind: expected one of "triode", "twin-triode"',
    ],
    [
      '{ "type": "X", "kind": "triode" }',
      "shop/valves.json:1:1: points: gives 0 figures (plate current, gm, plate resistance…) where a fit needs 3",
    ],
    ['{ "type": "X" "kind": 3 }', "shop/valves.json:1:15: a comma was expected here"],
    ["", "shop/valves.json:1:1: an empty file, where valve types were expected"],
  ])("is told with its field and place: %s", async (text, told) => {
    const cwd = folder({
      "derate.config.json": config,
      "shop/valves.json": text,
      "a.ampnet": stage("EL84", 250, 22e3, 1000),
    });
    const ran = await derate(cwd, ["check", "a.ampnet"]);
    expect(ran).toMatchObject({ code: 2, out: "" });
    expect(ran.err).toContain(told);
  });

  it("that isn't there is told where it is named", async () => {
    const cwd = folder({
      "derate.config.json": '{\n  "overrides": [{ "files": ["*"], "valves": ["a.json", "b.json"] }]\n}',
      "a.json": "[]",
      "a.ampnet": stage("EL84", 250, 22e3, 1000),
    });
    const ran = await derate(cwd, ["check", "a.ampnet"]);
    expect(ran.code).toBe(2);
    expect(ran.err).toBe(
      "derate: derate.config.json:2:56: b.json: no such file; name a file of valve types from this file's folder\n",
    );
  });

  it("and those that extend one have its valves too, a nearer type before a farther one", async () => {
    const cwd = folder({
      "base.json": '{ "valves": ["base-valves.json"] }',
      "base-valves.json": JSON.stringify([twenty, seventeen]),
      "amps/derate.config.json": '{ "extends": "../base.json", "valves": ["own.json"] }',
      "amps/own.json": JSON.stringify({ ...seventeen, type: "TB20" }),
      "amps/a.ampnet": `${stage("TB20", 250, 1e5, 2200)}valve V2 TB17 { plate: HT, grid: gnd, cathode: k2 }\nk2 -- resistor R3 1k -- gnd\n`,
    });
    const ran = await derate(cwd, ["volts", "amps/a.ampnet", "--format", "json"]);
    expect(ran).toMatchObject({ code: 0, err: "" });
    // Solved with the nearer file's law: mu 17.
    expect(JSON.parse(ran.out).states.idle.nominal.nets.k.volts / 3.4701).toBeCloseTo(1, 2);
  });
});
