/**
 * Every type as a person would write it, at the operating point that its own sheet prints: found, heated, and drawing what the
 * sheet says. The bounds are those that the laws themselves are held to (`valves.test.ts`); here it is the way from the text.
 */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { valveFiles } from "../../server/facts/valves/all.ts";
import type { PointFile, ValveFile } from "../../server/facts/valves/file.ts";
import { withVariants } from "../../server/facts/valves/variants.ts";

const all = withVariants(valveFiles).filter(({ kind }) => kind !== "diode");
const amplifying = all.filter(({ kind }) => kind !== "rectifier");

/** The first point of a section that prints volts and a current of one valve, in the fit. */
function pointOf(file: ValveFile, section: number): PointFile | undefined {
  return file.points?.find(
    (point) =>
      (point.mode === "characteristic" || point.mode === "single-ended") &&
      (point.section === undefined || point.section === section + 1) &&
      (point.connection === undefined || point.connection === "pentode" || point.connection === "beam") &&
      point.plate_V !== undefined &&
      point.grid_V !== undefined &&
      point.plate_mA !== undefined &&
      !point.held_out &&
      point.set_aside === undefined,
  );
}

function written(file: ValveFile): { readonly text: string; readonly wanted: Map<string, number> } {
  const [{ name, volts }] = file.heater?.arrangements ?? [];
  const wiring = name === "single" ? "" : ` ${name}`;
  const lines = [`source H1 ${volts}V { plus: h1, minus: gnd }`];
  const blocks: string[] = [];
  const wanted = new Map<string, number>();
  file.sections.forEach((section, index) => {
    const point = pointOf(file, index);
    if (!point) return;
    const n = index + 1;
    // A supply's volts are less at the electrodes by what the cathode resistor takes.
    const lost = point.V_basis === "supply" ? (point.grid_V as number) : 0;
    lines.push(`source P${n} ${(point.plate_V as number) + lost}V { plus: p${n}, minus: gnd }`);
    lines.push(`source G${n} ${Math.abs(point.grid_V as number)}V { plus: gnd, minus: n${n} }`);
    lines.push(`n${n} -- resistor R${n} 1k 0.5W -- g${n}`);
    const electrodes = [`plate: p${n}`, `grid: g${n}`];
    if (file.heating !== "direct") electrodes.push("cathode: gnd");
    if (section.pins.screen !== undefined) {
      lines.push(`source S${n} ${(point.screen_V as number) + lost}V { plus: s${n}, minus: gnd }`);
      electrodes.push(`screen: s${n}`);
    }
    blocks.push(section.name === "" ? electrodes.join(", ") : `${section.name} { ${electrodes.join(", ")} }`);
    const key = section.name === "" ? "V1" : `V1.${section.name}`;
    wanted.set(key, (point.plate_mA as number) / 1000);
  });
  // A directly heated cathode is an end of the filament: that at common here.
  const heater = file.heating === "direct" ? "filament: gnd h1" : `heater: h1 gnd${wiring}`;
  lines.push(`valve V1 ${file.type} { ${[...blocks, heater].join(", ")} }`);
  return { text: `${lines.join("\n")}\n`, wanted };
}

describe("at its sheet's own point", () => {
  it.each(amplifying.map((file) => [file.type, file] as const))("%s draws what is printed", (_, file) => {
    const { text, wanted } = written(file);
    const result = check("bench.ampnet", text);
    expect(result.circuit.problems.map(({ message }) => message)).toEqual([]);
    expect(wanted.size, "points").toBeGreaterThan(0);
    const readings = result.analysis.solution("idle", "nominal")!.readings;
    for (const [key, amps] of wanted)
      expect(Math.abs(readings.get(`${key}.plate`)!.amps! / amps - 1), key).toBeLessThan(0.08);
    expect(Math.abs(readings.get("V1.heater")?.amps ?? 0)).toBeCloseTo(file.heater!.arrangements[0].amps, 6);
    const heaters = result.findings.filter(({ rule }) => rule.startsWith("valve/heater"));
    expect(heaters.map(({ message }) => message)).toEqual([]);
  });
});
