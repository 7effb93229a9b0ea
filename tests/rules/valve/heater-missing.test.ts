import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const sample = readFileSync(new URL("../../../samples/currawong-15.ampnet", import.meta.url), "utf8");
const told = (text: string) =>
  check("heaters.ampnet", text).findings.filter(({ rule }) => rule === "valve/heater-missing");
const unlit = (text: string, ...references: readonly string[]): string =>
  references.reduce((now, reference) => {
    const changed = now.replace(new RegExp(`(valve ${reference} [^}]*), heater: \\w+ \\w+`), "$1");
    expect(changed).not.toBe(now);
    return changed;
  }, text);

const stage = (
  number: number,
  heater: string,
): string => `HT -- resistor R${number}1 100k 1W 500V -- p${number}
valve V${number} ECC83 { a { plate: p${number}, grid: g${number}, cathode: k${number} }${heater} }
g${number} -- resistor R${number}2 1M 0.5W -- gnd
k${number} -- resistor R${number}3 1k5 0.5W -- gnd
`;
const bench = `amp "Bench"\nsource B1 250V { plus: HT, minus: gnd }\n`;

describe("a heater that is not written", () => {
  it("is told of the one valve, with the leads of the others, and the fix lights it", () => {
    expect(told(sample)).toEqual([]);
    const text = unlit(sample, "V3");
    const [finding, ...others] = told(text);
    expect(others).toEqual([]);
    expect(finding.message).toMatch(
      /^V3's heater is not written, though V5, V1, V2 and V4's are: .* Write heater: h1 h2\.$/,
    );
    const [edit] = finding.fix?.edits ?? [];
    const mended = text.slice(0, edit.place.range.start) + edit.text + text.slice(edit.place.range.end);
    expect(mended).toBe(sample);
  });

  it("is written behind a section's block", () => {
    const text = `${bench}source B2 6.3V { plus: h1, minus: gnd }\n${stage(1, ", heater: h1 gnd")}${stage(2, "")}`;
    const [finding] = told(text);
    const [edit] = finding.fix?.edits ?? [];
    const mended = text.slice(0, edit.place.range.start) + edit.text + text.slice(edit.place.range.end);
    expect(told(mended)).toEqual([]);
    expect(check("heaters.ampnet", mended).findings.filter(({ rule }) => rule === "circuit/syntax")).toEqual(
      [],
    );
  });

  it("names no leads that do not suit: those of other volts, and of a string", () => {
    const series = `${bench}source B2 12.6V { plus: h1, minus: gnd }
${stage(1, ", heater: h1 m").replace("ECC83", "EL84")}${stage(2, ", heater: m gnd").replace("ECC83", "EL84")}${stage(3, "").replace("ECC83", "EL84")}`;
    const [finding] = told(series);
    expect(finding.message).toContain("Write heater: and the two nets that it hangs on.");
    expect(finding.fix).toBeUndefined();
  });

  it.each([
    ["no valve has its heater written", bench + stage(1, "") + stage(2, "")],
    ["fewer have than have not", bench + stage(1, ", heater: h1 gnd") + stage(2, "") + stage(3, "")],
    [
      "only a rectifier that is its own heater has",
      `amp "Own"
transformer T1 40VA { primary 230V 30R { a b }, ht 250-0-250V 60mA 300R { x gnd y }, rect 5V 2A { HT f2 } }
valve V9 5Y3GT { plate1: x, plate2: y, cathode: HT, heater: HT f2 }
HT -- capacitor C1 16u 500V electrolytic -- gnd
${stage(1, "")}`,
    ],
    [
      "its heater is written in a statement of its own",
      `${bench + stage(1, ", heater: h1 gnd") + stage(2, "")}valve V2 ECC83 { heater: h1 gnd }\n`,
    ],
  ])("is not told where %s", (_, text) => {
    const { findings } = check("heaters.ampnet", text);
    expect(
      findings.filter(({ rule }) => rule === "circuit/syntax" || rule === "circuit/duplicate-reference"),
    ).toEqual([]);
    expect(told(text)).toEqual([]);
  });

  it("follows a line that could not be read", () => {
    const text = sample.replace("cathode: kO, heater: h1 h2", "cathode: kO, heatr: h1 h2");
    expect(told(text)[0]?.follows).toBe("circuit/unknown-terminal");
  });
});
