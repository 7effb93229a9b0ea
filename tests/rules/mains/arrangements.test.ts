/**
 * Every arrangement of one or two fuses and a switch in the two conductors, in a country with a polarised plug and in one
 * without, against a table written by hand from BS 7671 132.14.1 and 132.14.2 (single-pole devices in the line only, a
 * switched neutral linked to the line), IEC 62368-1 annex L (both poles where the neutral is not sure) and the customs
 * that the fuse comes first and that an amplifier has a mains switch.
 */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

type FusePlace = "active" | "neutral" | "both" | "none";
type SwitchPlace = "active" | "neutral" | "both" | "none";
type Order = "fuse-switch" | "switch-fuse";

const W = "wrong-both-ways";
const FF = "fuse-first";
const FN = "fuse-in-neutral";
const NB = "neutral-broken";
const SA = "switch-active";
const EW = "either-way-round";
const SM = "switch-missing";

/** [fuse, switch, order, breaches where the plug is polarised, breaches where it is not] */
const TABLE: readonly [FusePlace, SwitchPlace, Order, readonly string[], readonly string[]][] = [
  ["active", "active", "fuse-switch", [], [EW]],
  ["active", "active", "switch-fuse", [FF], [FF, EW]],
  ["active", "neutral", "fuse-switch", [W, NB, SA], [W, NB, SA]],
  ["active", "neutral", "switch-fuse", [W, NB, SA], [W, NB, SA]],
  ["active", "both", "fuse-switch", [], []],
  ["active", "both", "switch-fuse", [FF], [FF]],
  ["active", "none", "fuse-switch", [SM], [SM]],
  ["active", "none", "switch-fuse", [SM], [SM]],
  ["neutral", "active", "fuse-switch", [W, FN, FF], [W, FN, FF, EW]],
  ["neutral", "active", "switch-fuse", [W, FN, FF], [W, FN, FF, EW]],
  ["neutral", "neutral", "fuse-switch", [FN, FF, NB, SA], [FN, FF, NB, SA]],
  ["neutral", "neutral", "switch-fuse", [FN, FF, NB, SA], [FN, FF, NB, SA]],
  ["neutral", "both", "fuse-switch", [FN, FF], [FN, FF]],
  ["neutral", "both", "switch-fuse", [FN, FF], [FN, FF]],
  ["neutral", "none", "fuse-switch", [FN, FF, SM], [FN, FF, SM]],
  ["neutral", "none", "switch-fuse", [FN, FF, SM], [FN, FF, SM]],
  ["both", "active", "fuse-switch", [], [EW]],
  ["both", "active", "switch-fuse", [FF], [FF, EW]],
  ["both", "neutral", "fuse-switch", [NB, SA], [NB, SA]],
  ["both", "neutral", "switch-fuse", [NB, SA], [NB, SA]],
  ["both", "both", "fuse-switch", [], []],
  ["both", "both", "switch-fuse", [FF], [FF]],
  ["both", "none", "fuse-switch", [SM], [SM]],
  ["both", "none", "switch-fuse", [SM], [SM]],
  ["none", "active", "fuse-switch", [FF], [FF, EW]],
  ["none", "active", "switch-fuse", [FF], [FF, EW]],
  ["none", "neutral", "fuse-switch", [FF, NB, SA], [FF, NB, SA]],
  ["none", "neutral", "switch-fuse", [FF, NB, SA], [FF, NB, SA]],
  ["none", "both", "fuse-switch", [FF], [FF]],
  ["none", "both", "switch-fuse", [FF], [FF]],
  ["none", "none", "fuse-switch", [FF, SM], [FF, SM]],
  ["none", "none", "switch-fuse", [FF, SM], [FF, SM]],
];

function text(region: "AU" | "EU", fuse: FusePlace, part: SwitchPlace, order: Order): string {
  const lines: string[] = [];
  const poles: string[] = [];
  const conductor = (name: "active" | "neutral", from: string): string => {
    const fused = fuse === name || fuse === "both";
    const broken = part === name || part === "both";
    const steps = [fused ? "fuse" : "", broken ? "switch" : ""].filter(Boolean);
    if (order === "switch-fuse") steps.reverse();
    let at = from;
    for (const step of steps) {
      const next = `${name}${step}`;
      if (step === "fuse") lines.push(`${at} -- fuse F${name === "active" ? 1 : 2} T315mA 250V -- ${next}`);
      else poles.push(`{ common: ${at}, on: ${next} }`);
      at = next;
    }
    return at;
  };
  const live = conductor("active", "inA");
  const back = conductor("neutral", "inN");
  if (poles.length === 1) lines.push(`switch S1 mains 250V 6A ${poles[0]}`);
  if (poles.length === 2) lines.push(`switch S1 mains dpst 250V 6A {\n  1 ${poles[0]}\n  2 ${poles[1]}\n}`);
  return `amp "Arrangement"
mains 230 V 50 Hz ${region}
cord W1 1.0mm2 anchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 110mm green-yellow
}
inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 -- chassis
${lines.join("\n")}
transformer T1 40VA {
  primary 230V 30R { ${live} ${back} }
  heater 6.3V 5A   { h1 gnd }
}
h1 -- lamp LP1 6.3V 5A -- gnd
`;
}

const breaches = (source: string) => {
  const findings = check("arrangement.ampnet", source).findings.filter(
    (finding) => finding.severity !== "unchecked",
  );
  return [...new Set(findings.map((finding) => finding.rule))].sort();
};

describe("fuse and switch in the two conductors", () => {
  it("covers every arrangement once", () => {
    const keys = TABLE.map(([fuse, part, order]) => `${fuse} ${part} ${order}`);
    expect(new Set(keys).size).toBe(4 * 4 * 2);
  });

  for (const [fuse, part, order, polarised, unpolarised] of TABLE) {
    it(`fuse ${fuse}, switch ${part}, ${order}`, () => {
      const named = (rules: readonly string[]) => rules.map((rule) => `mains/${rule}`).sort();
      // A fault that stands whichever way the plug goes in is told once: the warning is for what only turning it brings.
      const turned = unpolarised.includes(W) ? unpolarised.filter((rule) => rule !== EW) : unpolarised;
      expect(breaches(text("AU", fuse, part, order))).toEqual(named(polarised));
      expect(breaches(text("EU", fuse, part, order))).toEqual(named(turned));
    });
  }
});

describe("what the message names", () => {
  it("names the way that the current takes", () => {
    const [found] = check("a", text("AU", "neutral", "active", "fuse-switch")).findings.filter(
      (finding) => finding.rule === "mains/fuse-in-neutral",
    );
    expect(found.message).toContain("active -> S1 -> T1.primary, fuse F2 only in the neutral");
    const [first] = check("a", text("AU", "active", "active", "switch-fuse")).findings.filter(
      (finding) => finding.rule === "mains/fuse-first",
    );
    expect(first.message).toContain("active -> S1 -> F1");
    expect(first.on).toEqual(["S1", "F1", "W1"]);
  });

  it("puts the cause before what follows from it", () => {
    const found = check("a", text("AU", "active", "neutral", "fuse-switch")).findings.filter((finding) =>
      finding.rule.startsWith("mains/"),
    );
    expect(found[0].rule).toBe("mains/wrong-both-ways");
    expect(found.slice(1).map((finding) => finding.follows)).toEqual([
      "mains/wrong-both-ways",
      "mains/wrong-both-ways",
    ]);
  });
});
