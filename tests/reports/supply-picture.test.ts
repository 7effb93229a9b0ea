/** The supply as a picture: which nets it takes for stages, in what order, and what it says of their capacitors. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { supplyPictureHtml } from "../../server/reports/supply-picture.ts";
import { type SupplyStage, supplyStages } from "../../server/reports/supply-stages.ts";
import { voltageChartHtml } from "../../server/reports/voltage-chart.ts";

const sample = (name: string) => readFileSync(new URL(`../../samples/${name}`, import.meta.url), "utf8");
const checked = (text: string) => check("main.ampnet", text, {});

/** "HT0 by V6 > HT2 by S2 L1": a line for each chain. */
function chains(text: string): string[] {
  const { circuit } = checked(text);
  const told = (stage: SupplyStage): string[] => {
    const own = `${circuit.nets[stage.net].name} by ${stage.through.map(({ reference }) => reference).join(" ")}`;
    return stage.next.length === 0
      ? [own]
      : stage.next.flatMap((next) => told(next).map((rest) => `${own} > ${rest}`));
  };
  return supplyStages(circuit).flatMap(told);
}

describe("the stages of a supply", () => {
  it("go on from the rectifier through switch, choke and droppers; stacked cans are one stage; the bias is a chain of its own", () => {
    expect(chains(sample("brolga-35.ampnet"))).toEqual([
      "HT0 by V6 > HT2 by S2 L1 > HT3 by R24 > HT4 by R25",
      "nB by D1 > nB2 by R41",
    ]);
  });
  it("begin behind the last of diodes in series", () => {
    expect(chains(sample("magpie-30.ampnet"))[0]).toMatch(/^HT1 by D2 D4 > HT2 by L1/);
  });
  it("branch where two droppers leave one net", () => {
    const text = `source B1 300V 50R { plus: HT, minus: gnd }
HT -- capacitor C1 22u 450V electrolytic -- gnd
HT -- resistor R1 1k 5W -- one -- capacitor C2 22u 450V electrolytic -- gnd
HT -- resistor R2 2k2 5W -- two -- capacitor C3 22u 450V electrolytic -- gnd
one -- resistor R3 47k 5W -- gnd
two -- resistor R4 47k 5W -- gnd
`;
    expect(chains(text)).toEqual(["HT by B1 > one by R1", "HT by B1 > two by R2"]);
  });
  it("are none without a rectifier or a source", () => {
    expect(chains("a -- resistor R1 1k -- gnd\n")).toEqual([]);
    expect(supplyPictureHtml(checked("a -- resistor R1 1k -- gnd\n"))).toBeUndefined();
  });
});

describe("the picture", () => {
  it("carries the cautions, and marks a capacitor past its rating", () => {
    const body = supplyPictureHtml(
      checked(`source B1 300V 50R { plus: HT, minus: gnd }
HT -- capacitor C1 22u 250V electrolytic -- gnd
HT -- resistor R1 47k 5W -- gnd
`),
    );
    expect(body).toContain("These voltages kill");
    expect(body).toMatch(/class="over"[^>]*>C1 22 µF: 300 V of 250 V, 120 % OVER</);
  });
});

describe("the voltage chart", () => {
  it("has a column for each state, the span of the mains below each figure, and its cautions", () => {
    const body = voltageChartHtml(checked(sample("fantail-5.ampnet")));
    expect(body).toContain("These voltages kill");
    expect(body).toMatch(/<th scope="col">cold start<\/th><th scope="col">idle<\/th>/);
    expect(body).toMatch(/<th scope="row">HT1<\/th>.*?<td>2\d\d V<small>2\d\d … 3\d\d<\/small><\/td>/);
    // No figure of the arithmetic's own noise.
    expect(body).not.toMatch(/-?0 mV/);
  });
});
