/** Every fix that the rules' bad examples offer, made: its finding goes, and none comes. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { rules } from "../../server/rules/index.ts";
import type { Finding, Fix } from "../../server/rules/rule.ts";

const today = "2026-01-15";
const run = (text: string): readonly Finding[] => check("example.ampnet", text, { today }).findings;

/** The text with a fix's edits made, the last first so that the places of the others hold. */
function made(text: string, fix: Fix): string {
  return [...fix.edits]
    .sort((a, b) => b.place.range.start - a.place.range.start)
    .reduce(
      (now, { place, text: put }) => now.slice(0, place.range.start) + put + now.slice(place.range.end),
      text,
    );
}

/** Told apart by rule, gravity and part: figures and places move with the edits. */
const keys = (findings: readonly Finding[]): string[] =>
  findings.map((finding) => `${finding.rule} ${finding.severity} ${finding.on[0]}`).sort();

/** Kinds of fixes that there must be, by an example that gives one, with what the fix writes and where that is from. */
const kinds: readonly {
  readonly rule: string;
  readonly what: string;
  readonly writes: RegExp;
}[] = [
  {
    rule: "rating/capacitor-voltage",
    what: "the next standard voltage (E6 ratings of makers)",
    writes: /^630V$/,
  },
  { rule: "rating/resistor-power", what: "the next standard wattage", writes: /^2W$/ },
  // 440 V: metal film is published for no less from 3 W on.
  { rule: "rating/resistor-voltage", what: "the smallest body that is published for it", writes: /^3W$/ },
  { rule: "rating/diode-reverse", what: "the next standard inverse voltage", writes: /^(1000|1k)V$/ },
  // Nine tenths of the sheet's dissipation, an E24 value of IEC 60063.
  { rule: "valve/plate-dissipation", what: "a cathode resistor for a chosen share", writes: /^2[24]0R$/ },
  { rule: "rating/series-capacitors", what: "balancing resistors", writes: /resistor R\d+ \d+k/ },
  // IEC 60127 values.
  { rule: "mains/fuse-value", what: "the fuse's value", writes: /^T\d+m?A$/ },
  { rule: "mains/fuse-tip", what: "tip and ring exchanged", writes: /^inA$/ },
  { rule: "supply/discharge", what: "a bleeder's value", writes: /resistor R\d+ \d+k/ },
  { rule: "supply/discharge-path", what: "a bleeder where there is none", writes: /resistor R\d+ \d+k/ },
  {
    rule: "mains/capacitor-bleed",
    what: "a resistor across a class X capacitor",
    writes: /resistor R\d+ 1M/,
  },
  { rule: "valve/heater-floating", what: "hum-balance resistors", writes: /resistor R\d+ 100R/ },
  { rule: "circuit/single-use-net", what: "the near name", writes: /^p1$/ },
  { rule: "circuit/unknown-fact", what: "the near word", writes: /^metal-film$/ },
];

const offered: { readonly rule: string; readonly text: string; readonly fix: Fix }[] = [];

describe("fixes of the bad examples", () => {
  for (const rule of rules) {
    if (rule.bad === "") continue;
    const before = run(rule.bad);
    for (const finding of before) {
      const { fix } = finding;
      if (!fix) continue;
      offered.push({ rule: finding.rule, text: rule.bad, fix });
      it(`${rule.id}: ${finding.rule}: ${fix.title}`, () => {
        const after = keys(run(made(rule.bad, fix)));
        const had = keys(before);
        const own = keys([finding])[0];
        expect(after.filter((key) => key === own).length).toBeLessThan(
          had.filter((key) => key === own).length,
        );
        const come = after.filter((key, index) => {
          const number = after.slice(0, index + 1).filter((other) => other === key).length;
          return number > had.filter((other) => other === key).length;
        });
        expect(come).toEqual([]);
      });
    }
  }
});

describe("kinds of fixes", () => {
  it.each(kinds.map((kind) => [`${kind.rule}: ${kind.what}`, kind] as const))("%s", (_, { rule, writes }) => {
    const texts = offered
      .filter((entry) => entry.rule === rule)
      .flatMap(({ fix }) => fix.edits.map((edit) => edit.text.trim()));
    expect(
      texts.some((text) => writes.test(text)),
      texts.join(" | "),
    ).toBe(true);
  });
});
