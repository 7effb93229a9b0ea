/**
 * Limits that the families' own tests do not hold at their edges: a value in the text is moved until the rule begins to
 * speak; there the finding's value must stand at its limit, a hair inside it must be quiet, and the limit must be the
 * figure that the source beside it gives.
 */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { ruleById } from "../../server/rules/index.ts";
import type { Finding, Severity } from "../../server/rules/rule.ts";
import { findingsOf } from "./limits.ts";

interface Edge {
  readonly rule: string;
  readonly what: string;
  readonly on: string;
  readonly text: (value: number) => string;
  /** A quiet value, and one that is told. */
  readonly quiet: number;
  readonly told: number;
  /** The figure, in the finding's unit, from outside the project. */
  readonly limit?: number;
  /** The value at which the rule begins to speak, where it can be had by hand; with how near. */
  readonly at?: { readonly value: number; readonly within: number };
  readonly severity?: Severity;
  readonly state?: string;
  readonly mains?: string;
}

/** The rule's bad example with one word of it changed. */
const bad = (rule: string, from: string, to: (value: number) => string) => (value: number) => {
  const text = ruleById.get(rule)?.bad ?? "";
  expect(text).toContain(from);
  return text.replace(from, to(value));
};

/** A sound sample with one rating of it changed. */
const sample = (name: string, from: string, to: (value: number) => string) => {
  const text = readFileSync(new URL(`../../samples/${name}.ampnet`, import.meta.url), "utf8");
  return (value: number) => {
    expect(text).toContain(from);
    return text.replace(from, to(value));
  };
};

const edges: readonly Edge[] = [
  {
    // facts/valves.md, 5U4GB (General Electric sheet): hot switching, 4.6 A a plate.
    rule: "supply/rectifier-hot-switch",
    what: "5U4GB, 4.6 A",
    on: "V1",
    text: bad("supply/rectifier-hot-switch", "400mA 10R", (ohms) => `400mA ${ohms}R`),
    quiet: 300,
    told: 10,
    limit: 4.6,
    severity: "error",
  },
  {
    // facts/valves.md, EZ80 (Philips sheet): peak plate current 270 mA.
    rule: "supply/rectifier-peak-current",
    what: "EZ80, 270 mA",
    on: "V1",
    text: bad("supply/rectifier-peak-current", "200mA 10R", (ohms) => `200mA ${ohms}R`),
    quiet: 2000,
    told: 10,
    limit: 0.27,
    severity: "error",
  },
  {
    // Common practice, a loss of 30 %: 80 VA of 230 V lose x in k = x (1 - x) of 230 V squared over 80 VA.
    rule: "supply/winding-resistance",
    what: "a primary's 30 % of loss",
    on: "T1.primary",
    text: bad("supply/winding-resistance", "230V 5k", (ohms) => `230V ${ohms}R`),
    quiet: 40,
    told: 150,
    at: { value: (0.3 * 0.7 * 230 ** 2) / 80, within: 0.001 },
    limit: (0.3 * 0.7 * 230 ** 2) / 80,
    severity: "warning",
  },
  {
    // The same of a secondary, whose rated volts stand behind the loss: 0.3 / 0.7 of 580 V over 120 mA.
    rule: "supply/winding-resistance",
    what: "a secondary's 30 % of loss",
    on: "T1.ht",
    text: (ohms) => (ruleById.get("supply/winding-resistance")?.good ?? "").replace("110R", `${ohms}R`),
    quiet: 110,
    told: 2200,
    at: { value: ((0.3 / 0.7) * 580) / 0.12, within: 0.001 },
    limit: ((0.3 / 0.7) * 580) / 0.12,
    severity: "warning",
  },
  {
    // Common practice: a capacitor input rises by a quarter; a choke input is passed up to 30 %.
    rule: "supply/unloaded",
    what: "a choke input's bleeder",
    on: "HT0",
    text: bad("supply/unloaded", "resistor R2 1M 3W", (kilohms) => `resistor R2 ${kilohms}k 300W`),
    quiet: 8,
    told: 1000,
    severity: "warning",
  },
  {
    // facts/standards.md: pairs are matched within 10 %, common practice.
    rule: "valve/pair-imbalance",
    what: "10 % of the mean",
    on: "V1",
    text: bad("valve/pair-imbalance", "resistor R6 390R", (ohms) => `resistor R6 ${ohms}R`),
    quiet: 270,
    told: 390,
    limit: 10,
    severity: "warning",
    state: "idle",
  },
  {
    // A quarter of a second to a tenth: C = 0.25 / (R ln 10), R the leak of 820 k.
    rule: "valve/blocking",
    what: "a quarter of a second",
    on: "C1",
    text: bad("valve/blocking", "capacitor C1 1u", (nanofarads) => `capacitor C1 ${nanofarads}n`),
    quiet: 22,
    told: 1000,
    limit: 0.25,
    at: { value: (0.25 / (Math.LN10 * 820e3)) * 1e9, within: 0.001 },
    severity: "advice",
  },
  {
    // Common practice: a tenth of a per cent peak to peak at a first stage.
    rule: "supply/ripple",
    what: "a first stage's supply",
    on: "V1",
    text: bad("supply/ripple", "capacitor C1 16u", (microfarads) => `capacitor C1 ${microfarads}u`),
    quiet: 100_000,
    told: 16,
    severity: "advice",
    state: "idle",
  },
  {
    // Common practice: twice the HT with the load on, a twentieth of that for what is not exact.
    rule: "output/plate-peak",
    what: "2.05 times the volts at rest",
    on: "V1",
    text: bad("output/plate-peak", "plates  40k", (kilohms) => `plates  ${kilohms}k`),
    quiet: 5,
    told: 40,
    severity: "warning",
    state: "drive",
  },
  {
    // Average forward current, as written.
    rule: "rating/diode-current",
    what: "a diode of 1 A, half-wave",
    on: "D1",
    text: bad("rating/diode-current", "resistor R1 6R8", (ohms) => `resistor R1 ${ohms}R`),
    quiet: 100,
    told: 6.8,
    limit: 1,
    severity: "error",
    mains: "high",
  },
  {
    // By hand: (100 V - 56 V) / R times 56 V is 1 W at 2464 ohms; the text's parts have their tolerances on top.
    rule: "rating/zener-power",
    what: "a zener of 1 W",
    on: "D1",
    text: bad("rating/zener-power", "resistor R1 1k", (ohms) => `resistor R1 ${ohms}R`),
    quiet: 10_000,
    told: 1000,
    limit: 1,
    at: { value: 2464, within: 0.2 },
    severity: "error",
  },
  {
    // The ripple that is written, at twice 50 Hz.
    rule: "rating/capacitor-ripple",
    what: "a reservoir of 200 mA",
    on: "C1",
    text: bad("rating/capacitor-ripple", "resistor R1 1k2", (ohms) => `resistor R1 ${ohms}R`),
    quiet: 100_000,
    told: 1200,
    limit: 0.2,
    severity: "error",
  },
  // One part's rating, in the state that is its worst in a whole amplifier.
  {
    rule: "rating/capacitor-voltage",
    what: "a reservoir behind an indirectly heated rectifier, output valves pulled",
    on: "C20",
    text: sample("currawong-15", "C20 32u 500V", (volts) => `C20 32u ${volts}V`),
    quiet: 500,
    told: 160,
    severity: "error",
    state: "pulled",
    mains: "high",
  },
  {
    rule: "rating/capacitor-voltage",
    what: "a reservoir ahead of the standby switch",
    on: "C20",
    text: sample("brolga-35", "C20 100u 350V", (volts) => `C20 100u ${volts}V`),
    quiet: 350,
    told: 160,
    severity: "error",
    state: "standby",
    mains: "high",
  },
  {
    rule: "rating/capacitor-voltage",
    what: "a coupling capacitor behind a rectifier that is there at once",
    on: "C2",
    text: sample("chickadee-4", "C2 22n 630V", (volts) => `C2 22n ${volts}V`),
    quiet: 630,
    told: 160,
    severity: "error",
    state: "cold",
    mains: "high",
  },
  {
    rule: "rating/speaker-power",
    what: "a loudspeaker at full drive",
    on: "LS1",
    text: sample("currawong-15", "LS1 15R 30W", (watts) => `LS1 15R ${watts}W`),
    quiet: 30,
    told: 1,
    state: "drive",
    mains: "nominal",
  },
  {
    rule: "rating/switch-dc",
    what: "the standby switch, open",
    on: "S2",
    text: sample("brolga-35", "S2 standby dc 600V", (volts) => `S2 standby dc ${volts}V`),
    quiet: 600,
    told: 100,
    severity: "error",
    state: "standby",
    mains: "high",
  },
  {
    rule: "rating/choke-current",
    what: "a choke's direct current",
    on: "L1",
    text: sample("brolga-35", "L1 10H 80mA", (milliamperes) => `L1 10H ${milliamperes}mA`),
    quiet: 80,
    told: 5,
    severity: "error",
    mains: "high",
  },
];

const spoken = (edge: Edge, value: number): Finding | undefined =>
  findingsOf(edge.text(value)).find(
    (finding) =>
      finding.rule === edge.rule &&
      finding.on.includes(edge.on) &&
      (edge.severity === undefined || finding.severity === edge.severity),
  );

/** Where the rule begins to speak: the last quiet value and the first told one, a ten-thousandth apart. */
function brink(edge: Edge): { readonly quiet: number; readonly told: number } {
  let { quiet, told } = edge;
  for (let step = 0; step < 30 && Math.abs(told / quiet - 1) > 1e-4; step++) {
    const middle = Math.sqrt(quiet * told);
    if (spoken(edge, middle)) told = middle;
    else quiet = middle;
  }
  return { quiet, told };
}

describe("limits at their edges", () => {
  for (const edge of edges) {
    it(`${edge.rule}: ${edge.what}`, () => {
      expect(spoken(edge, edge.quiet), "quiet well inside").toBeUndefined();
      expect(spoken(edge, edge.told), "told well outside").toBeDefined();
      const { quiet, told } = brink(edge);
      expect(spoken(edge, quiet)).toBeUndefined();
      const found = spoken(edge, told);
      expect(found?.value).toBeDefined();
      // At the brink the value stands at the limit.
      expect(Math.abs((found?.value ?? 0) / (found?.limit ?? 1) - 1)).toBeLessThan(2e-3);
      if (edge.limit !== undefined) expect(found?.limit).toBeCloseTo(edge.limit, 6);
      if (edge.at) expect(Math.abs(told / edge.at.value - 1)).toBeLessThan(edge.at.within);
      if (edge.state) expect(found?.state).toBe(edge.state);
      if (edge.mains) expect(found?.mains).toBe(edge.mains);
    });
  }
});
