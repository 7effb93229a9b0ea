/**
 * Where a part of the circuit has no solution, nothing of it passes in silence: every limit that the sound text is held to is checked
 * in the broken one or counted as unchecked, and what the broken part does not touch keeps its figures.
 */
import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { type CheckResult, check } from "../../../server/check.ts";
import { analyse } from "../../../server/physics/analyse.ts";
import { type Laws, publishedLaws } from "../../../server/physics/dc/elements.ts";
import { findSupplies } from "../../../server/physics/supply/index.ts";
import type { FindSupplies } from "../../../server/physics/supply/island.ts";
import { limitName } from "../../../server/rules/frame/limit.ts";
import { type RunResult, runRules } from "../../../server/rules/run.ts";

const folder = new URL("../../../samples/", import.meta.url);
const samples = readdirSync(folder)
  .filter((name) => name.endsWith(".ampnet"))
  .map((name) => ({ name, text: readFileSync(new URL(name, folder), "utf8") }));
const of = (text: string): CheckResult => check("unsolved.ampnet", text, { today: "2026-01-15" });

const held = ({ margins }: Pick<RunResult, "margins">) =>
  new Set(margins.map(({ on, rule }) => `${limitName(rule)} of ${on}`));
/** What was held in the first and is neither held nor told as unchecked in the second. */
function lost(sound: Pick<RunResult, "margins">, broken: Pick<RunResult, "margins" | "missed">): string[] {
  const known = held(broken);
  for (const { on, what } of broken.missed) known.add(`${what} of ${on}`);
  return [...held(sound)].filter((limit) => !known.has(limit));
}
/** To nine places: an equation more, and the last ones differ. */
const figures = ({ margins }: CheckResult) =>
  margins.map(({ on, rule, value, limit, state, mains }) =>
    [rule, on, Math.abs(value) < 1e-12 ? 0 : value.toPrecision(9), limit, state, mains].join(" "),
  );
const netsOf = (result: CheckResult) => new Set(result.circuit.nets.map(({ name }) => name));
const notSolved = ({ findings }: Pick<RunResult, "findings">) =>
  findings.filter(({ rule }) => rule === "circuit/not-solved");

const apart = `
source B91 300V { plus: bench, minus: gnd }
source B92 250V { plus: bench, minus: gnd }
bench -- resistor R91 100k 2W wirewound 500V -- gnd
`;

describe.each(samples)("$name", ({ text }) => {
  const sound = of(text);

  it("keeps every figure where sources at odds stand apart from it", () => {
    const broken = of(text + apart);
    expect(notSolved(broken)).toHaveLength(1);
    expect(figures(broken)).toEqual(expect.arrayContaining(figures(sound)));
    const told = new Set(broken.findings.map(({ message }) => message));
    for (const { message, severity, rule } of sound.findings)
      if (severity !== "unchecked") expect(told.has(message), `${rule}: ${message}`).toBe(true);
    const here = broken.circuit.netByName.get("bench") ?? -1;
    for (const state of broken.analysis.states) {
      const solution = broken.analysis.solution(state, "nominal");
      expect(solution?.solved).toBe(false);
      expect([...(solution?.unsolved?.nets ?? [])]).toEqual([here]);
      for (const { index, name } of sound.circuit.nets) {
        const net = broken.circuit.netByName.get(name) ?? -1;
        const volts = sound.analysis.solution(state, "nominal")?.volts[index] ?? Number.NaN;
        if (Number.isNaN(volts)) expect(solution?.volts[net], name).toBeNaN();
        else expect(solution?.volts[net], name).toBeCloseTo(volts, 9);
      }
    }
    expect(broken.missed.find(({ on }) => on === "R91")).toMatchObject({
      what: "resistor power",
      because: "its part of the circuit has no solution",
    });
  });

  // Below, near and above what the amplifier's own supply gives: however the guess at it turns out.
  it.each([
    [10, -10],
    [300, 250],
    [600, 650],
  ])("loses no limit where sources of %d and %d V are at odds over its high tension", (a, b) => {
    const net = ["HT1", "HT", "B+"].find((name) => netsOf(sound).has(name));
    if (net === undefined) return;
    const broken = of(
      `${text}\nsource B91 ${a}V { plus: ${net}, minus: gnd }\nsource B92 ${b}V { plus: ${net}, minus: gnd }\n`,
    );
    const [found] = notSolved(broken);
    expect(found.message).toContain("B92");
    expect(lost(sound, broken)).toEqual([]);
    // No figure of what is unsolved is held against anything, and none is told.
    const idle = broken.analysis.solution("idle", "nominal");
    const unsolved = idle?.unsolved;
    expect(unsolved?.nets.size).toBeGreaterThan(1);
    for (const index of unsolved?.nets ?? []) expect(idle?.volts[index]).toBeNaN();
    for (const key of unsolved?.parts ?? []) expect(idle?.readings.has(key), key).toBe(false);
    for (const { on, rule, state } of broken.margins)
      if (state !== undefined) expect(unsolved?.parts.has(on), `${rule} of ${on}`).toBe(false);
    // A fuse is held to what runs through it, which nobody knows; its volts are those of the mains.
    for (const { on, rule } of sound.margins) {
      if (rule !== "mains/fuse-value" || !unsolved?.parts.has(on)) continue;
      expect(broken.missed.some((one) => one.on === on && one.what === "fuse value")).toBe(true);
    }
  });
});

const supplies = `amp "Two supplies"
mains 230 V 50 Hz UK
cord W1 1.0mm2 10A anchored { active: a 60mm brown, neutral: b 60mm blue, earth: e 110mm green-yellow }
e -- bond E1 own-fixing -- chassis
gnd -- bond E2 -- chassis
transformer T1 80VA {
  primary 230V 14R { a b }
  ht 290-0-290V 120mA 110R { htA gnd htB }
  heater 6.3V 2A 0R1 { h1 gnd }
}
htA -- diode D1 1N4007 -- HT1
htB -- diode D2 1N4007 -- HT1
HT1 -- capacitor C1 32u 350V electrolytic -- gnd
HT1 -- resistor R1 5k 5W -- gnd
h1 -- lamp LP1 6.3V 0.3A -- gnd
transformer T2 20VA {
  primary 230V 60R { a b }
  bias 50V 50mA 40R { b1 gnd }
}
nb -- diode D3 1N4007 -- b1
nb -- resistor R2 10k 1W -- gnd
gnd -- capacitor C2 47u 63V electrolytic -- nb
`;
const clash = "source B1 300V { plus: HT1, minus: gnd }\nsource B2 250V { plus: HT1, minus: gnd }\n";

describe("what a contradiction reaches", () => {
  it("is everything on the same transformer, whose load is unknown, and nothing on another", () => {
    const sound = of(supplies);
    const broken = of(supplies + clash);
    expect(lost(sound, broken)).toEqual([]);
    const [found] = notSolved(broken);
    expect(found.message).toContain("The load on T1 is unknown");
    expect(broken.missed.find(({ on }) => on === "T1")?.because).toContain("its load is unknown");
    expect(broken.missed.some(({ on }) => on === "LP1")).toBe(true);
    expect(broken.missed.some(({ on }) => on === "R2")).toBe(false);
    const rest = (result: CheckResult) =>
      figures(result).filter(
        (one) => / (R2|C2|D3|T2[.\w]*) /.test(one) && !one.startsWith("supply/discharge"),
      );
    expect(rest(broken).length).toBeGreaterThan(5);
    expect(rest(broken)).toEqual(rest(sound));
    // All capacitors are emptied in the same steps of time, which are others: the time is found to a part in a thousand.
    const time = ({ margins }: CheckResult) =>
      margins.find(({ rule, on }) => rule === "supply/discharge" && on === "C2")?.value ?? Number.NaN;
    expect(time(broken) / time(sound)).toBeCloseTo(1, 2);
  });

  it("is what the output stage does into a load that nobody knows", () => {
    const { text } = samples.find(({ name }) => name === "cassowary-60.ampnet") ?? { text: "" };
    const sound = of(text);
    const broken = of(
      `${text}\nsource B91 5V { plus: spk, minus: gnd }\nsource B92 6V { plus: spk, minus: gnd }\n`,
    );
    expect(lost(sound, broken)).toEqual([]);
    // At rest its valves are as they were; driven, they are not known.
    expect(broken.missed).toContainEqual({
      on: "V3",
      what: "screen dissipation",
      because: "it rests on a part of the circuit that has no solution",
    });
    expect(broken.margins.some(({ on, rule }) => on === "V3" && rule === "valve/plate-voltage")).toBe(true);
  });

  it("is everything where they stand across the mains", () => {
    const sound = of(supplies);
    const broken = of(`${supplies}source B1 5V { plus: a, minus: b }\nsource B2 6V { plus: a, minus: b }\n`);
    expect(broken.analysis.solution("idle", "nominal")?.unsolved?.whole).toBe(true);
    expect(lost(sound, broken)).toEqual([]);
    expect(broken.margins.filter(({ state }) => state !== undefined)).toEqual([]);
  });

  it("names every contradiction, and not only the first", () => {
    const broken = of(
      `${supplies}${clash}source B3 5V { plus: h1, minus: gnd }\nsource B4 6V { plus: h1, minus: gnd }${apart}`,
    );
    expect(notSolved(broken).map(({ on }) => on[0])).toEqual(expect.arrayContaining(["HT1", "h1", "bench"]));
  });

  it("ends at a source that is short-circuited, which moves no volts of others", () => {
    const sound = of(supplies);
    const broken = of(
      `${supplies}source B1 12V { plus: x, minus: y }\nx -- fuse F9 T1A 250V -- y\nx -- resistor R9 10k 1W -- gnd\n`,
    );
    expect(lost(sound, broken)).toEqual([]);
    expect(figures(broken)).toEqual(expect.arrayContaining(figures(sound)));
    const idle = broken.analysis.solution("idle", "nominal");
    expect([...(idle?.unsolved?.parts ?? [])].sort()).toEqual(["B1", "F9"]);
    const volts = (result: CheckResult, name: string) =>
      result.analysis.solution("idle", "nominal")?.volts[result.circuit.netByName.get(name) ?? -1];
    expect(volts(broken, "HT1")).toBeCloseTo(volts(sound, "HT1") ?? Number.NaN, 9);
  });

  it("is the states alone in which they are at odds: what is passed in the others is told", () => {
    const switched = `amp "Odd with the switch closed"
source B1 300V { plus: X, minus: gnd }
source B2 400V { plus: Y, minus: gnd }
X -- switch S1 standby 500V 6A -- Y
X -- capacitor C1 10u 250V electrolytic -- gnd
Y -- capacitor C2 10u 630V electrolytic -- gnd
X -- resistor R1 100k 2W wirewound 500V -- gnd
Y -- resistor R2 100k 2W wirewound 500V -- gnd
`;
    const result = of(switched);
    expect(notSolved(result)[0].message).not.toContain("standby");
    const passed = result.findings.find(
      ({ on, rule }) => on[0] === "C1" && rule === "rating/capacitor-voltage",
    );
    expect(passed).toMatchObject({ severity: "error", state: "standby" });
    expect(passed?.value).toBeCloseTo(300, 6);
    // C2 keeps its rating with the switch open; with it closed nobody knows.
    expect(result.missed.some(({ on, what }) => on === "C2" && what === "capacitor voltage")).toBe(true);
    expect(result.margins.some(({ on }) => on === "C2")).toBe(false);
  });
});

/** The same supplies, told to have no steady state, or made so that no currents suit them. */
const unsettled: FindSupplies = (circuit, topology, conditions) =>
  findSupplies(circuit, topology, conditions).map((island) => ({
    ...island,
    finish(x) {
      const finished = island.finish(x);
      const trouble = { message: "the supply finds no steady state", nodes: island.innerNodes };
      if (island.parts.has("T1")) Object.defineProperty(finished.result, "trouble", { value: trouble });
      return finished;
    },
  }));
/** A valve whose current jumps where its plate would settle. */
const unsuitable: Laws = {
  ...publishedLaws,
  section: (...of) => {
    const law = publishedLaws.section(...of);
    return (
      law && {
        evaluate(vg, vs, vp, out) {
          law.evaluate(vg, vs, vp, out);
          out.fill(0, 3);
          out[0] = vp > 150 ? 20e-3 : 0;
        },
      }
    );
  },
};
const stage = `${supplies}HT1 -- resistor R5 47k 2W wirewound 700V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } heater: h1 gnd }
g1 -- resistor R6 1M 0.5W -- gnd
k1 -- resistor R7 1k5 0.5W -- gnd
`;

describe("a circuit that finds no solution", () => {
  const { circuit } = of(supplies);
  const sound = runRules(circuit, analyse(circuit));

  it("keeps the other supply's figures where one does not settle", () => {
    const broken = runRules(circuit, analyse(circuit, { findSupplies: unsettled }));
    expect(notSolved(broken)).toHaveLength(1);
    expect(lost(sound, broken)).toEqual([]);
    expect(broken.missed.some(({ on }) => on === "C1")).toBe(true);
    expect(broken.margins.some(({ on }) => on === "C2")).toBe(true);
  });

  it("counts every limit as unchecked where nothing is solved", () => {
    const { circuit } = of(stage);
    const sound = runRules(circuit, analyse(circuit));
    const analysis = analyse(circuit, { laws: unsuitable });
    const solution = analysis.solution("idle", "nominal");
    expect(solution?.unsolved?.whole).toBe(true);
    expect(solution?.volts.every(Number.isNaN)).toBe(true);
    const broken = runRules(circuit, analysis);
    expect(notSolved(broken)).toHaveLength(1);
    expect(lost(sound, broken)).toEqual([]);
    // With its valves cold it has a solution: what is passed there is passed, and what is kept there is not yet kept.
    for (const { state, value, limit } of broken.margins)
      if (state !== undefined) expect(state === "cold" && value > limit).toBe(true);
  });
});
