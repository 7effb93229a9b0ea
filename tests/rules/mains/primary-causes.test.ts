/** A primary on the wrong volts, with its cause by name. What must be found follows from the turns alone: volts add as windings stand. */
import { describe, expect, it } from "vitest";
import { example } from "../../../server/rules/mains/example.ts";
import { findingsOf } from "../limits.ts";

const RULE = "mains/primary-voltage";
const amp = (primaries: string, way = "") =>
  example({
    name: "Case",
    way: `inA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live\n${way}`,
    transformer: `transformer T1 40VA {\n  ${primaries}\n  heater 6.3V 5A 0.05R { h1 gnd }\n}`,
  });
const found = (primaries: string, way?: string) =>
  findingsOf(amp(primaries, way)).filter(
    ({ rule, severity, follows }) =>
      rule === RULE ||
      (severity === "error" && follows === undefined && /^(mains|supply|rating|valve)/.test(rule)),
  );
const leading = (primaries: string, way?: string) =>
  found(primaries, way).filter(({ follows }) => follows === undefined);

describe("two primaries turned against each other", () => {
  it.each([
    ["in series, of 115 V each", "primary 115V 15R { live mid }\n  other 115V 15R { inN mid }"],
    ["in series, of 120 V and 110 V", "primary 120V 15R { live mid }\n  other 110V 15R { inN mid }"],
    ["side by side, of 230 V each", "primary 230V 30R { live inN }\n  other 230V 30R { inN live }"],
  ])("%s, are told as that, first and alone", (_, primaries) => {
    const [first, ...more] = leading(primaries);
    expect(first.rule).toBe(RULE);
    expect(first.severity).toBe("error");
    expect(first.message).toMatch(
      /^T1\.other is the wrong way round against T1\.primary: .* Exchange the two ends of T1\.other\.$/,
    );
    expect(more.map(({ rule, message }) => `${rule} ${message}`)).toEqual([]);
  });
  it.each([
    ["in series", "primary 115V 15R { live mid }\n  other 115V 15R { mid inN }"],
    ["side by side", "primary 230V 30R { live inN }\n  other 230V 30R { live inN }"],
  ])("%s as they should be, are not", (_, primaries) => {
    expect(found(primaries).filter(({ rule }) => rule === RULE)).toEqual([]);
  });
});

describe("two primaries that a selector joins for other volts than these", () => {
  it("are told with the selector", () => {
    // Position 1 leaves the second on one net; position 2 sets them side by side.
    const [first] = leading(
      "primary 115V 15R { live pa }\n  other 115V 15R { pb inN }",
      "switch S3 selector dpdt 250V 6A {\n  1 { common: pa, 1: mid, 2: inN }\n  2 { common: pb, 1: inN, 2: live }\n}",
    );
    expect(first.message).toMatch(
      /wound for 115 V and stand on 230 V mains: .* Joined in series they suit, and S3 joins them so in no position/,
    );
    expect(first.severity).toBe("error");
  });
});

describe("a primary with taps", () => {
  it("says between which the mains stands, and where the lead belongs", () => {
    const [first, ...more] = leading("primary 0-220-230V 30R { t0 inN live }");
    expect(first.message).toMatch(
      /^The mains stands between the taps of 220 V \(inN\) and 230 V \(live\) of T1\.primary, 10 V of its turns/,
    );
    expect(first.message).toMatch(/The lead on inN belongs on the tap of 0 V \(t0\)\.$/);
    expect(more).toEqual([]);
  });
  it("names the tap that suits", () => {
    const [first] = leading("primary 0-200-230V 30R { inN live t230 }");
    expect(first.message).toMatch(
      /wound for 200 V and stands on 230 V mains.* The lead on live belongs on the tap of 230 V \(t230\)\.$/,
    );
  });
});
