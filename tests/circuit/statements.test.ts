import { describe, expect, it } from "vitest";
import { circuitOf, mentions, tellings } from "./helpers.ts";

const volts = (text: string) => {
  const { low, nominal, high } = circuitOf(text).mains.volts;
  return [low, nominal, high].map((value) => Math.round(value * 10) / 10);
};

describe("mains", () => {
  // Sources: AS 60038, NZ Electricity (Safety) Regulations 2010, UK ESQCR 2002, EN 50160, ANSI C84.1 range B,
  // CSA C235 extreme conditions, Japanese Electricity Business Act rules, IEC 60038.
  it.each([
    ["mains 230 V 50 Hz AU", [216.2, 230, 253], 50],
    ["mains 230 V 50 Hz NZ", [216.2, 230, 243.8], 50],
    ["mains 230 V 50 Hz UK", [216.2, 230, 253], 50],
    ["mains 230 V 50 Hz EU", [207, 230, 253], 50],
    ["mains 230 V 50 Hz CH", [207, 230, 253], 50],
    ["mains 120 V 60 Hz US", [110, 120, 127], 60],
    ["mains 120 V 60 Hz CA", [106, 120, 127], 60],
    ["mains 100 V 60 Hz JP", [95, 100, 107], 60],
    ["mains 230 V 50 Hz", [207, 230, 253], 50],
    ["mains JP", [95, 100, 107], 50],
    ["mains US", [110, 120, 127], 60],
    // The published limits are volts at the point of supply, whatever volts are written within them.
    ["mains 240 V 50 Hz AU", [216.2, 240, 253], 50],
    ["mains 253 V 50 Hz AU", [216.2, 253, 253], 50],
    ["mains 216.2 V 50 Hz AU", [216.2, 216.2, 253], 50],
    ["mains 240 V 50 Hz NZ", [216.2, 240, 243.8], 50],
    ["mains 117 V 60 Hz US", [110, 117, 127], 60],
    // Another supply than the region's.
    ["mains 254 V 50 Hz AU", [238.8, 254, 279.4], 50],
    ["mains 110 V 50 Hz AU", [103.4, 110, 121], 50],
    ["mains 240 V 60 Hz US", [220, 240, 254], 60],
    // Without a region there are no limits in volts.
    ["mains 240 V 50 Hz", [216, 240, 264], 50],
    ["", [207, 230, 253], 50],
  ])("%s", (text, expected, hertz) => {
    expect(volts(`${text}\n`)).toEqual(expected);
    const { mains, problems } = circuitOf(`${text}\n`);
    expect(mains.hertz).toBe(hertz);
    expect(mains.given).toBe(text !== "");
    expect(mains.toleranceSource).not.toBe("");
    expect(problems).toEqual([]);
  });

  it("take the tolerance that is assumed", () => {
    expect(volts("mains 230 V 50 Hz EU\nassume mains +10% -6%\n")).toEqual([216.2, 230, 253]);
    expect(volts("mains 230 V 50 Hz EU\nassume mains -6% +10%\n")).toEqual([216.2, 230, 253]);
    expect(volts("mains 230 V\nassume mains 5%\n")).toEqual([218.5, 230, 241.5]);
    expect(volts("mains 230 V\nassume mains +5%\n")).toEqual([230, 230, 241.5]);
  });

  it("tell what is no region, no volts", () => {
    expect(tellings("mains 230 V 50 Hz AUS\n")).toEqual(["circuit/unknown-fact: AUS"]);
    expect(tellings("mains 230 W\n")).toEqual(["circuit/unit: 230 W"]);
    expect(tellings("mains 230 V 240 V\n")).toEqual(["circuit/unit: 240 V"]);
    expect(tellings("assume mains 5V\n")).toEqual(["circuit/unit: 5V"]);
  });
});

describe("assume", () => {
  it("sets ambient, derating, spread and outlet", () => {
    const { assumptions, problems } = circuitOf(`assume ambient 50C
assume derate resistor 50%
assume derate capacitor 80%
assume derate bench 30%
assume valve-spread 20%
assume outlet unpolarised
`);
    expect(problems).toEqual([]);
    expect(assumptions.ambientCelsius).toMatchObject({ value: 50, origin: "file" });
    expect([...assumptions.derate].map(([family, given]) => [family, given.value])).toEqual([
      ["resistor", 0.5],
      ["capacitor", 0.8],
      ["bench", 0.3],
    ]);
    expect(assumptions.valveSpread).toMatchObject({ value: 0.2, origin: "file" });
    expect(assumptions.outlet).toBe("unpolarised");
  });
  it("has defaults that say where they come from", () => {
    const { assumptions } = circuitOf("");
    expect(assumptions.ambientCelsius).toMatchObject({ origin: "default" });
    expect(assumptions.ambientCelsius.source).toMatch(/practice/);
    expect(assumptions.valveSpread.source).toMatch(/practice/);
    expect(assumptions.derate.size).toBe(0);
    expect(assumptions.outlet).toBeUndefined();
  });
  it.each([
    ["assume ambient 50V", "circuit/unit: 50V"],
    ["assume ambiant 50C", "circuit/unknown-fact: ambiant"],
    ["assume derate resitor 50%", "circuit/unknown-fact: resitor"],
    ["assume derate resistor 50W", "circuit/unit: 50W"],
    ["assume derate resistor", "circuit/unit: assume derate resistor"],
    ["assume outlet round", "circuit/unit: round"],
    ["assume valve-spread 300%", "circuit/unit: 300%"],
    ["assume weather 5V", "circuit/unknown-fact: weather"],
  ])("%s is told", (text, expected) => {
    expect(tellings(`${text}\n`)).toEqual([expected]);
  });
});

const amp = `kO -- resistor R14 130R 5W -- gnd
valve V3 EL84 { plate: pA, screen: HT2, grid: gA, cathode: kO, heater: h1 h2 }
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 }, heater: h1 h2 }
transformer T1 80VA { primary 230V { live inN }, ht 290-0-290V 120mA { htA gnd htB } }
HT1 -- choke L1 10H -- HT2
`;
const targetOf = (line: string) => {
  const { measurements, problems } = circuitOf(`${amp}${line}\n`);
  expect(problems.map((problem) => problem.message)).toEqual([]);
  return measurements[0];
};

describe("measured", () => {
  it("a net, with the mains that it was taken at", () => {
    expect(targetOf("measured HT1 312V at mains 236V")).toMatchObject({
      target: { kind: "net", name: "HT1" },
      value: 312,
      unit: "volt",
      atMainsVolts: 236,
    });
  });
  it("an electrode, in volts or amperes, by any of its words", () => {
    expect(targetOf("measured V3.cathode 11.2V").target).toMatchObject({
      kind: "electrode",
      reference: "V3",
      electrode: "cathode",
    });
    expect(targetOf("measured V3.anode 41mA")).toMatchObject({
      target: { kind: "electrode", reference: "V3", electrode: "plate" },
      unit: "ampere",
      value: 0.041,
    });
    expect(targetOf("measured V1.a.plate 1.2mA").target).toMatchObject({
      kind: "electrode",
      reference: "V1.a",
      electrode: "plate",
    });
  });
  it("across a part, through a part", () => {
    expect(targetOf("measured across R14 11V").target).toEqual({ kind: "across", reference: "R14" });
    expect(targetOf("measured R14 85mA").target).toEqual({ kind: "through", reference: "R14" });
    expect(targetOf("measured R14.a 85mA").target).toEqual({ kind: "through", reference: "R14" });
    expect(targetOf("measured R14 11V").target).toEqual({ kind: "across", reference: "R14" });
  });
  it("a winding and a heater", () => {
    expect(targetOf("measured across T1.ht 605V").target).toEqual({ kind: "across", reference: "T1.ht" });
    expect(targetOf("measured T1.ht 95mA").target).toEqual({ kind: "through", reference: "T1.ht" });
    expect(targetOf("measured V3.heater 6.1V").target).toEqual({ kind: "across", reference: "V3.heater" });
  });
  it("the safety record", () => {
    expect(targetOf("measured earth-continuity 0.08R")).toMatchObject({
      target: { kind: "earth-continuity" },
      value: 0.08,
      unit: "ohm",
    });
    expect(targetOf("measured insulation 250M at 500V")).toMatchObject({
      target: { kind: "insulation" },
      value: 250e6,
      unit: "ohm",
      atTestVolts: 500,
    });
    expect(targetOf("measured earth-leakage 0.4mA")).toMatchObject({
      target: { kind: "earth-leakage" },
      unit: "ampere",
    });
  });
  it("counts as a place that names the net, and makes none", () => {
    expect(mentions(circuitOf(`${amp}measured HT1 312V\n`), "HT1")).toBe(2);
    const circuit = circuitOf(`${amp}measured HT9 312V\n`);
    expect(circuit.netByName.has("HT9")).toBe(false);
    expect(circuit.measurements).toEqual([]);
  });
  it.each([
    ["measured HT9 312V", "circuit/unknown-net: HT9"],
    ["measured HT1 85mA", "circuit/unit: HT1"],
    ["measured R15 85mA", "circuit/unknown-reference: R15"],
    ["measured across R15 8V", "circuit/unknown-reference: R15"],
    ["measured V3 85mA", "circuit/unknown-terminal: V3"],
    ["measured HT1 10k", "circuit/unit: 10k"],
    ["measured HT1 10R", "circuit/unit: 10R"],
    ["measured earth-continuity 3V", "circuit/unit: 3V"],
    ["measured earth-leakage 3R", "circuit/unit: 3R"],
    ["measured HT1 312V at mains 5A", "circuit/unit: mains 5A"],
  ])("%s is told", (line, expected) => {
    expect(tellings(`${amp}${line}\n`)).toEqual([expected]);
  });
});

describe("waive", () => {
  it("keeps rule, part, reason and date", () => {
    const { waivers } = circuitOf(
      'waive rating/capacitor-voltage on C21 because "630 V part on order" until 2027-03-01\n',
    );
    expect(waivers).toMatchObject([
      { rule: "rating/capacitor-voltage", on: "C21", reason: "630 V part on order", until: "2027-03-01" },
    ]);
  });
});

describe("amp", () => {
  it("names the circuit", () => {
    const { name, ampPlace } = circuitOf('amp "Wattlebird 18"\n');
    expect(name).toBe("Wattlebird 18");
    expect(ampPlace?.range.start).toBe(0);
  });
});
