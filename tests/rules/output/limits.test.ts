/** Output stages at their edges. */
import { describe, expect, it } from "vitest";
import { analysisOf, errorOn, missed, told } from "../limits.ts";

const stage = (
  parts: { watts?: string; amps?: string; tap?: string; load?: string; ohms?: string } = {},
) => `source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g0 -- resistor R4 2k2 0.5W -- g1
g0 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
k1 -- capacitor C1 220u 25V electrolytic -- gnd
output-transformer T1 ${parts.watts ?? "8W"} {
  plates  ${parts.ohms ?? "5k"} ${parts.amps ?? "60mA"} 260R { p1 HT }
  speaker ${parts.tap ?? "8R"} 0.5R { spk gnd }
}
${parts.load ?? "spk -- speaker LS1 8R 15W -- gnd"}
`;

describe("output/load-mismatch", () => {
  const rule = "output/load-mismatch";
  const severities = (load: string, tap = "8R") =>
    told(stage({ tap, load }), rule, "T1").map((finding) => finding.severity);
  it("tolerates 2:1 both ways, both ends included", () => {
    expect(severities("spk -- speaker LS1 8R 15W -- gnd")).toEqual([]);
    expect(severities("spk -- speaker LS1 16R 15W -- gnd")).toEqual(["advice"]);
    expect(severities("spk -- speaker LS1 4R 15W -- gnd")).toEqual(["advice"]);
    expect(severities("spk -- speaker LS1 17R 15W -- gnd")).toEqual(["warning"]);
    expect(severities("spk -- speaker LS1 3R8 15W -- gnd")).toEqual(["warning"]);
  });
  it("adds loudspeakers in series and in parallel", () => {
    expect(severities("spk -- speaker LS1 4R 15W -- m -- speaker LS2 4R 15W -- gnd")).toEqual([]);
    expect(severities("spk -- speaker LS1 16R 15W -- gnd\nspk -- speaker LS2 16R 15W -- gnd")).toEqual([]);
    const four = [1, 2, 3, 4].map((n) => `spk -- speaker LS${n} 8R 15W -- gnd`).join("\n");
    expect(severities(four)).toEqual(["warning"]);
  });
  it("leaves a feedback resistor out of the load", () => {
    const back = "spk -- speaker LS1 8R 15W -- gnd\nspk -- resistor R9 4k7 0.5W -- k1";
    expect(severities(back)).toEqual([]);
  });
});

describe("output/no-load-path", () => {
  const rule = "output/no-load-path";
  const severities = (load: string) => told(stage({ load }), rule, "T1").map((finding) => finding.severity);
  it("finds a bare secondary, and passes any load", () => {
    expect(severities("spk -- resistor R9 47k 0.5W -- gnd")).toEqual(["error"]);
    expect(severities("spk -- resistor R9 220R 10W -- gnd")).toEqual([]);
    expect(severities("spk -- speaker LS1 8R 15W -- gnd")).toEqual([]);
  });
  it("warns of a jack alone, and passes one that shorts the secondary when it is empty", () => {
    expect(severities("jack J1 { tip: spk, sleeve: gnd }")).toEqual(["warning"]);
    expect(severities("jack J1 { tip: spk, sleeve: gnd, tip-break: gnd }")).toEqual([]);
    expect(severities("jack J1 { tip: spk, sleeve: gnd }\nspk -- resistor R9 330R 5W -- gnd")).toEqual([]);
  });
  it("passes a reverb tank's jack behind small triodes", () => {
    const driver = (load: string) => `source B1 300V { plus: HT, minus: gnd }
valve V1 12AT7 { a { plate: p, grid: g, cathode: k }  b { plate: p, grid: g, cathode: k } }
g -- resistor R1 470k 0.5W -- gnd
k -- resistor R2 2k2 1W -- gnd
output-transformer T1 5W { plates 22k 10mA 900R { p HT }, speaker 8R { r gnd } }
${load}
`;
    expect(told(driver("jack J1 { tip: r, sleeve: gnd }"), rule, "T1")).toEqual([]);
    expect(told(driver("r -- resistor R3 47k 0.5W -- gnd"), rule, "T1")).toHaveLength(1);
  });
});

describe("a driver transformer, whose secondary works into grids", () => {
  const driven = `source B1 300V { plus: HT, minus: gnd }
valve V1 6SN7GTB { a { plate: p, grid: g, cathode: k } }
g -- resistor R1 470k 0.5W -- gnd
k -- resistor R2 2k2 1W -- gnd
output-transformer T1 5W {
  plates  20k 10mA 800R { p HT }
  speaker 10k           { gA gB }
}
gA -- resistor R3 100k 0.5W -- gnd
gB -- resistor R4 100k 0.5W -- gnd
gA -- resistor R5 1k 0.5W -- g1
gB -- resistor R6 1k 0.5W -- g2
valve V2 EL84 { plate: q1, screen: HT, grid: g1, cathode: ko }
valve V3 EL84 { plate: q2, screen: HT, grid: g2, cathode: ko }
ko -- resistor R7 150R 5W wirewound -- gnd
output-transformer T2 20W {
  plates  8k 280R { q1 HT q2 }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`;
  it("asks for no loudspeaker, and is no output stage", () => {
    expect(told(driven, "output/no-load-path", "T1")).toEqual([]);
    expect(told(driven, "output/power", "T1")).toEqual([]);
    expect(told(driven, "output/power", "T2")).toHaveLength(1);
    // Centre-tapped to common, with a low impedance written: its grids tell what it is.
    const tapped = driven
      .replace("speaker 10k           { gA gB }", "speaker 100R-400R { gA gnd gB }")
      .replace(/gA -- resistor R3.*\ngB -- resistor R4.*\n/, "");
    expect(told(tapped, "output/no-load-path", "T1")).toEqual([]);
  });
  it("leaves an output stage without a loudspeaker what it is, feedback to a grid or not", () => {
    const bare = driven.replace(/spk -- speaker.*\n/, "spk -- resistor R9 100k 0.5W -- g\n");
    expect(told(bare, "output/no-load-path", "T2").map((found) => found.severity)).toEqual(["error"]);
  });
});

describe("output/transformer-current", () => {
  it("holds the standing current", () => {
    const amps = analysisOf(stage()).solution("idle", "nominal")?.readings.get("V1.plate")?.amps as number;
    const text = (rating: number) => stage({ amps: `${(rating * 1e3).toFixed(5)}mA` });
    expect(errorOn(text(amps * 1.001), "output/transformer-current", "T1")).toBeUndefined();
    expect(errorOn(text(amps * 0.999), "output/transformer-current", "T1")?.value).toBeCloseTo(amps, 6);
    expect(missed(stage({ amps: "" }), "T1")).toContain("standing current");
  });
});

describe("output/transformer-power and output/power", () => {
  const watts = analysisOf(stage()).drive("nominal")[0]?.watts ?? Number.NaN;
  it("tell the same power as the drive does", () => {
    expect(told(stage(), "output/power", "T1")[0]?.value).toBeCloseTo(watts, 9);
    expect(watts).toBeGreaterThan(2);
  });
  it("hold the transformer to it: advice within 15 %, an error past", () => {
    const severity = (rating: number) =>
      told(stage({ watts: `${rating.toFixed(5)}W` }), "output/transformer-power", "T1").map(
        (f) => f.severity,
      );
    expect(severity(watts * 1.001)).toEqual([]);
    expect(severity(watts * 0.999)).toEqual(["advice"]);
    expect(severity(watts * 0.86)).toEqual(["error"]);
  });
});

describe("rating/speaker-power", () => {
  const watts = analysisOf(stage()).drive("nominal")[0]?.watts ?? Number.NaN;
  const text = (rating: number) => stage({ load: `spk -- speaker LS1 8R ${rating.toFixed(5)}W -- gnd` });
  it("holds the loudspeaker to the output", () => {
    expect(errorOn(text(watts * 1.001), "rating/speaker-power", "LS1")).toBeUndefined();
    expect(errorOn(text(watts * 0.999), "rating/speaker-power", "LS1")).toBeDefined();
  });
  it("shares it between two", () => {
    const two = stage({
      load: `spk -- speaker LS1 16R ${(watts * 0.51).toFixed(4)}W -- gnd\nspk -- speaker LS2 16R ${(watts * 0.49).toFixed(4)}W -- gnd`,
    });
    expect(errorOn(two, "rating/speaker-power", "LS1")).toBeUndefined();
    expect(errorOn(two, "rating/speaker-power", "LS2")).toBeDefined();
  });
});
