import { describe, expect, test } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { type LoadLinePicture, loadLine } from "../../server/physics/drive/load-line.ts";

const of = (text: string) => analyse(buildCircuit("bench.ampnet", text, parse(text)).circuit);

const preamp = of(`
amp "bench"
HT -- source B1 250V -- gnd
valve V1 ECC83 {
  a { plate: p, grid: g, cathode: k }
  heater: h1 h2
}
HT -- resistor R1 100k 1W 5% -- p
g -- resistor R2 1M 0.5W -- gnd
k -- resistor R3 1k5 0.5W 5% -- gnd
k -- capacitor C1 25u 25V electrolytic -- gnd
p -- capacitor C2 22n 400V film -- n
n -- resistor R4 330k 0.5W -- gnd`);

const output = of(`
amp "bench"
HT -- source B1 310.4V -- gnd
valve V1 EL84 { plate: pA, screen: HT, grid: g1, cathode: k, heater: h1 h2 }
valve V2 EL84 { plate: pB, screen: HT, grid: g2, cathode: k, heater: h1 h2 }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
k -- resistor R3 130R 5W -- gnd
k -- capacitor C1 100u 25V electrolytic -- gnd
output-transformer T1 20W {
  plates  8k 2R { pA HT pB }
  speaker 15R 0.001R { spk gnd }
}
spk -- speaker LS1 15R 25W -- gnd`);

/** Amperes of a line at given volts. */
const on = (line: LoadLinePicture["lines"][number], volts: number) =>
  line.from[1] + ((line.to[1] - line.from[1]) * (volts - line.from[0])) / (line.to[0] - line.from[0]);

describe("the picture of a resistance-coupled stage", () => {
  const picture = loadLine(preamp, "V1.a")!;
  test("stands where the Philips ECC83 table puts it: 0.86 mA, 163 V, within 10 %", () => {
    expect(Math.abs(picture.operating.amps / 0.86e-3 - 1)).toBeLessThan(0.1);
    expect(Math.abs(picture.operating.volts / 162.7 - 1)).toBeLessThan(0.1);
    expect(picture.operating.gridVolts).toBeCloseTo(-picture.operating.amps * 1500, 2);
  });
  test("has the dc line from the supply over plate and cathode resistor, the signal's with the next grid leak", () => {
    const [dc, signal] = picture.lines;
    expect([dc.name, signal.name]).toEqual(["dc", "signal"]);
    expect(dc.to[0]).toBeCloseTo(250, 1);
    expect(dc.ohms).toBeCloseTo(101500, 0);
    expect(signal.ohms).toBeCloseTo(1 / (1 / 100e3 + 1 / 330e3), 0);
    for (const line of picture.lines)
      expect(on(line, picture.operating.volts)).toBeCloseTo(picture.operating.amps, 6);
  });
  test("has curves that rise with plate and grid volts, round steps, and pass the operating point between them", () => {
    expect(picture.curves[0].gridVolts).toBe(0);
    for (const { points } of picture.curves)
      for (let i = 1; i < points.length; i++) expect(points[i][1]).toBeGreaterThanOrEqual(points[i - 1][1]);
    const { volts, amps, gridVolts } = picture.operating;
    const at = (grid: number) => {
      const curve = picture.curves.find((other) => other.gridVolts === grid)!;
      return curve.points.findLast(([v]) => v <= volts)![1];
    };
    const above = picture.curves.findLast((curve) => curve.gridVolts >= gridVolts)!;
    const below = picture.curves.find((curve) => curve.gridVolts < gridVolts)!;
    expect(at(above.gridVolts)).toBeGreaterThan(amps * 0.9);
    expect(at(below.gridVolts)).toBeLessThan(amps);
    expect(picture.curves.length).toBeGreaterThan(3);
  });
  test("has the dissipation hyperbola and the box of the tolerances about the point", () => {
    expect(picture.plateWatts).toBe(1.2);
    for (const [volts, amps] of picture.dissipation) expect(volts * amps).toBeCloseTo(1.2, 9);
    const { box, operating } = picture;
    expect(box.volts[0]).toBeLessThan(operating.volts);
    expect(box.volts[1]).toBeGreaterThan(operating.volts);
    expect(box.amps[0]).toBeLessThan(operating.amps);
    expect(box.amps[1]).toBeGreaterThan(operating.amps);
    expect(box.amps[1]).toBeLessThan(1.4 * operating.amps);
  });
});

describe("the picture of an output valve", () => {
  const picture = loadLine(output, "V1")!;
  test("has the lines of class A and class B for the load that is fitted", () => {
    const [a, b] = picture.lines;
    expect([a.name, b.name]).toEqual(["class A", "class B"]);
    expect(a.ohms / 4000).toBeCloseTo(1, 3);
    expect(b.ohms / 2000).toBeCloseTo(1, 3);
    expect(on(a, picture.operating.volts)).toBeCloseTo(picture.operating.amps, 6);
    expect(b.to[0]).toBeCloseTo(picture.operating.volts, 6);
  });
  test("reaches over the zero-bias curve's knee and has the screen's volts", () => {
    expect(picture.operating.screenVolts).toBeGreaterThan(280);
    expect(picture.plateAmpsMost).toBeGreaterThan(0.12);
    expect(picture.plateVoltsMost).toBeGreaterThan(400);
    expect(picture.dissipation.every(([, amps]) => amps <= picture.plateAmpsMost)).toBe(true);
  });
});

test("what is no section has no picture", () => {
  expect(loadLine(output, "R1")).toBeUndefined();
  expect(loadLine(output, "V9")).toBeUndefined();
  expect(loadLine(preamp, "V1")).toBeUndefined();
  expect(loadLine(preamp, "V1.b")).toBeUndefined();
});
