import { describe, expect, it } from "vitest";
import { segmentsOf } from "../../server/circuit/kinds/windings.ts";
import { circuitOf, partOf, tellings } from "./helpers.ts";

const winding = (row: string) =>
  partOf(circuitOf(`transformer T1 80VA { primary 230V { live inN }, ${row} }\n`), "transformer", "T1")
    .secondaries[0];

describe("taps", () => {
  it.each([
    ["w 50V 1A { a b }", [50]],
    ["w 340-0-340V 120mA { a b c }", [340, 340]],
    ["w 0-220-240V 1A { a b c }", [220, 20]],
    ["w 300-0-55-300V 100mA { a b c d }", [300, 55, 245]],
    ["w 300-55-0-55-300V 100mA { a b c d e }", [245, 55, 55, 245]],
    ["w 3.15-0-3.15V 4A { a b c }", [3.15, 3.15]],
    ["w 240-220-0V 1A { a b c }", [20, 220]],
    ["w 220-240V 1A { a b c }", [220, 20]],
    ["w 0-5-6.3V 1A { a b c }", [5, 1.3]],
  ])("%s has segments %j", (row, segments) => {
    const { segmentVolts, volts } = winding(row);
    expect(segmentVolts).toHaveLength(segments.length);
    segments.forEach((value, index) => {
      expect(segmentVolts[index]).toBeCloseTo(value, 9);
    });
    expect(volts.value).toBeCloseTo(
      segments.reduce((sum, one) => sum + one, 0),
      9,
    );
    expect(tellings(`transformer T1 80VA { primary 230V { live inN }, ${row} }\n`)).toEqual([]);
  });

  it.each([
    ["w 340-0-340V 1A { a b }", "circuit/winding-nets: 340-0-340V"],
    ["w 340-0-340V 1A { a b c d }", "circuit/winding-nets: 340-0-340V"],
    ["w 6.3V 4A { a b c }", "circuit/winding-nets: 6.3V"],
    ["w 6.3V 4A { a }", "circuit/winding-nets: w"],
    ["w 6.3V 4A { }", "circuit/winding-nets: w"],
    ["w 0-115-0-115V 1A { a b c d }", "circuit/unit: 0-115-0-115V"],
    ["w 0-240-220V 1A { a b c }", "circuit/unit: 0-240-220V"],
    ["w 4A { a b }", "circuit/missing-value: w"],
    ["w 6.3V 22n { a b }", "circuit/unit: 22n"],
    ["w 6.3V 4A noload { a b }", "circuit/unknown-fact: noload"],
  ])("%s is told", (row, expected) => {
    const text = `transformer T1 80VA { primary 230V { live inN }, ${row} }\n`;
    expect(tellings(text)).toEqual([expected]);
  });

  it("never fits what is no series", () => {
    expect(segmentsOf([], 1)).toEqual([]);
    expect(segmentsOf([0, 0], 2)).toBeUndefined();
    expect(segmentsOf([-5, 0, 5], 3)).toBeUndefined();
  });
});

describe("what a winding gives", () => {
  it("is open-circuit with no-load, or where no current is given", () => {
    expect(winding("w 6.3V 4A { a b }").noLoad).toBe(false);
    expect(winding("w 6.3V 4A no-load { a b }").noLoad).toBe(true);
    expect(winding("w 6.3V { a b }").noLoad).toBe(true);
  });
  it("may be rated for direct current", () => {
    const dc = winding("w 290-0-290V 120mA dc 110R { a b c }");
    expect([dc.direct, dc.amps?.value, dc.ohms.value]).toEqual([true, 0.12, 110]);
    expect(winding("w 290-0-290V 120mA 110R { a b c }").direct).toBe(false);
  });
  it("reads its resistance by its word too", () => {
    expect(winding("w 290-0-290V dcr 110R 120mA { a b c }").ohms).toMatchObject({
      value: 110,
      origin: "file",
    });
  });
});

describe("transformers", () => {
  it("have a primary and secondaries", () => {
    const circuit = circuitOf(`transformer T1 80VA {
  ht      290-0-290V 120mA 110R { htA gnd htB }
  primary 0-220-240V 14R        { inN p220 p240 }
  heater  6.3V 4A               { h1 h2 }
}
`);
    expect(circuit.problems).toEqual([]);
    const t1 = partOf(circuit, "transformer", "T1");
    expect(t1.voltAmperes?.value).toBe(80);
    expect(t1.primary?.segmentVolts).toEqual([220, 20]);
    expect(t1.secondaries.map((one) => one.name)).toEqual(["ht", "heater"]);
    expect([...t1.terminals.keys()]).toEqual([
      ...["ht.1", "ht.2", "ht.3", "primary.1", "primary.2", "primary.3", "heater.1", "heater.2"],
    ]);
  });

  it("estimate resistances that nobody wrote, within the rise that practice gives their size", () => {
    for (const size of [20, 50, 80, 150, 300]) {
      const amps = size / 300;
      const circuit = circuitOf(
        `transformer T1 ${size}VA { primary 230V { a b }, ht 300V ${amps}A { c d } }\n`,
      );
      const { primary, secondaries } = partOf(circuit, "transformer", "T1");
      expect(primary?.ohms.origin).toBe("estimate");
      expect(primary?.ohms.source).toMatch(/practice/);
      // Copper drop at full load over the volts of both windings: the rise from full load to none.
      const drop = ((size / 230) * primary!.ohms.value) / 230 + (amps * secondaries[0].ohms.value) / 300;
      expect(drop).toBeGreaterThan(size > 100 ? 0.049 : 0.099);
      expect(drop).toBeLessThan(size > 100 ? 0.101 : 0.201);
    }
  });

  it("estimate from the windings' own ratings without a VA, and from a usual size without either", () => {
    const sum = partOf(
      circuitOf("transformer T1 { primary 230V { a b }, ht 300V 0.2A { c d } }\n"),
      "transformer",
      "T1",
    );
    expect(sum.primary?.ohms.source).toMatch(/60 VA/);
    const bare = partOf(
      circuitOf("transformer T1 { primary 230V { a b }, ht 300V { c d } }\n"),
      "transformer",
      "T1",
    );
    expect(bare.primary?.ohms.value).toBeGreaterThan(0);
    expect(Number.isFinite(bare.secondaries[0].ohms.value)).toBe(true);
  });

  it("take a dc rating for rms by the published factor when they estimate", () => {
    const rms = partOf(circuitOf("transformer T1 80VA { w 300V 100mA { c d } }\n"), "transformer", "T1")
      .secondaries[0];
    const dc = partOf(circuitOf("transformer T1 80VA { w 300V 100mA dc { c d } }\n"), "transformer", "T1")
      .secondaries[0];
    // Hammond, Design Guide for Rectifier Use: a bridge with capacitor input, I dc = 0.62 I ac.
    expect(rms.ohms.value / dc.ohms.value).toBeCloseTo(1 / 0.62, 6);
  });

  it("tell a winding called twice, a terminal in its place, and a primary nearly so called", () => {
    expect(tellings("transformer T1 { h 6.3V 1A { a b }, h 5V 1A { c d } }\n")).toEqual([
      "circuit/duplicate-reference: h",
    ]);
    expect(tellings("transformer T1 { heater: h1 h2 }\n")).toEqual(["circuit/unknown-terminal: heater"]);
    expect(tellings("transformer T1 { primry 230V { a b } }\n")).toEqual([
      "circuit/unknown-terminal: primry",
    ]);
  });
});

describe("output transformers", () => {
  const plates = (row: string) =>
    partOf(circuitOf(`output-transformer T2 20W { ${row} }\n`), "output-transformer", "T2").plates!;
  const speaker = (row: string) =>
    partOf(circuitOf(`output-transformer T2 20W { ${row} }\n`), "output-transformer", "T2").speaker!;

  it("tell impedance from resistance in any order", () => {
    for (const row of [
      "plates 8k 280R { a b c }",
      "plates 280R 8k { a b c }",
      "plates 8k dcr 280R { a b c }",
    ]) {
      expect([plates(row).ohms.value, plates(row).resistance.value]).toEqual([8000, 280]);
    }
    expect(speaker("speaker 0.5R 8R { a b }")).toMatchObject({ ohms: [8], resistance: { value: 0.5 } });
  });
  it("are single-ended with two nets", () => {
    const row = plates("plates 5k 60mA 250R { pA HT1 }");
    expect([row.nets.length, row.ohms.value, row.amps?.value, row.resistance.value]).toEqual([
      2, 5000, 0.06, 250,
    ]);
  });
  it("are ultralinear with taps", () => {
    const row = plates("plates 6k6 43% { pA uA HT1 uB pB }");
    expect([row.nets.length, row.tap?.value, row.ohms.value]).toEqual([5, 0.43, 6600]);
    expect(tellings("output-transformer T2 { plates 6k6 { pA uA HT1 uB pB } }\n")).toEqual([
      "circuit/missing-value: plates",
    ]);
  });
  it("have taps for the speaker, common first", () => {
    const row = speaker("speaker 4R-8R-16R { gnd s4 s8 s16 }");
    expect(row.ohms).toEqual([4, 8, 16]);
    expect(row.nets).toHaveLength(4);
    expect(speaker("speaker 0-4-8-16R { gnd s4 s8 s16 }").ohms).toEqual([4, 8, 16]);
    expect(speaker("speaker 4-8R 0.4R { gnd s4 s8 }")).toMatchObject({
      ohms: [4, 8],
      resistance: { value: 0.4 },
    });
  });
  it("estimate resistances that nobody wrote", () => {
    expect(plates("plates 8k { a b c }").resistance).toMatchObject({ origin: "estimate" });
    const { value } = plates("plates 8k { a b c }").resistance;
    expect(value).toBeGreaterThanOrEqual(0.03 * 8000);
    expect(value).toBeLessThanOrEqual(0.05 * 8000);
  });
  it.each([
    ["plates 8k { a }", "circuit/winding-nets: plates"],
    ["plates 8k { a b c d }", "circuit/winding-nets: plates"],
    ["plates { a b c }", "circuit/missing-value: plates"],
    ["plates 22n { a b c }", "circuit/unit: 22n"],
    ["speaker 4R-8R-16R { gnd s4 s8 }", "circuit/winding-nets: 4R-8R-16R"],
    ["speaker 8R-4R { gnd s4 s8 }", "circuit/unit: 8R-4R"],
    ["speaker 8R { a b c }", "circuit/winding-nets: speaker"],
    ["primary 8k { a b c }", "circuit/unknown-terminal: primary"],
    ["speakr 8R { a b }", "circuit/unknown-terminal: speakr"],
  ])("%s is told", (row, expected) => {
    expect(tellings(`output-transformer T2 20W { ${row} }\n`)).toEqual([expected]);
  });
});
