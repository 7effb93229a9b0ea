/** A valve's operating point, and its electrodes with their pins and the volts that a meter shows from circuit common. */
import type { CheckResult } from "../../check.ts";
import type { Part } from "../../circuit/model.ts";
import { bookOf } from "../../facts/valves/book.ts";
import { metered } from "../../rules/frame/quantity.ts";
import { netVolts, shareText, table } from "../numbers.ts";
import { currentOf, powerOf, voltsOf } from "./readings.ts";

type Valve = Extract<Part, { readonly kind: "valve" }>;

/** "At idle: plate 272 V from cathode, 42.9 mA, 11.7 W (97 % of 12 W); grid -8.6 V": one sentence for each section. */
export function operatingPoint(result: CheckResult, part: Valve, row?: string): string {
  const solution = result.analysis.solution("idle", "nominal");
  if (!solution) return "";
  const sentences: string[] = [];
  for (const section of part.sections) {
    if (row && section.name !== row) continue;
    const own = section.name === "" ? part.reference : `${part.reference}.${section.name}`;
    const plate = solution.readings.get(`${own}.plate`);
    if (plate?.amps === undefined || !Number.isFinite(plate.amps)) continue;
    const words = [`${metered(plate.volts ?? Number.NaN, "V")}, ${metered(plate.amps, "A")}`];
    if (plate.watts !== undefined) {
      const most = plateWattsAllowed(result, own);
      words.push(
        `${metered(plate.watts, "W")}${most ? ` (**${shareText(plate.watts / most)}** of ${metered(most, "W")})` : ""}`,
      );
    }
    const others = (["screen", "grid"] as const).flatMap((electrode) => {
      const volts = solution.readings.get(`${own}.${electrode}`)?.volts;
      return volts === undefined || !Number.isFinite(volts) ? [] : [`${electrode} ${metered(volts, "V")}`];
    });
    const name = section.name === "" ? "" : `${section.name}: `;
    sentences.push(`${name}plate ${[words.join(", "), ...others].join("; ")}`);
  }
  return sentences.length === 0 ? "" : `At idle, from the cathode: ${sentences.join(" · ")}`;
}

/** What the rule holds the plate to: of the valve's sheets, the one that counts here. */
export function plateWattsAllowed(result: CheckResult, section: string): number | undefined {
  return result.margins.find(({ rule, on }) => rule.endsWith("/plate-dissipation") && on === section)?.limit;
}

export function electrodes(result: CheckResult, part: Valve, row?: string): string {
  const facts = part.type === undefined ? undefined : bookOf(result.circuit).find(part.type);
  const solution = result.analysis.solution("idle", "nominal");
  if (!solution) return "";
  const rows: string[][] = [];
  for (const section of part.sections) {
    if (row && section.name !== row) continue;
    const pins = facts?.sections.find(({ name }) => name === section.name)?.pins;
    const own = section.name === "" ? part.reference : `${part.reference}.${section.name}`;
    for (const [electrode, net] of section.electrodes) {
      const key = `${own}.${electrode}`;
      rows.push([
        section.name === "" ? electrode : `${section.name} ${electrode}`,
        pins?.get(electrode) ?? "–",
        result.circuit.nets[net].name,
        netVolts(solution, net) ?? "not fixed",
        currentOf(solution, key) || "–",
        powerOf(solution, key) || "–",
      ]);
    }
  }
  if (part.heater) {
    const key = `${part.reference}.heater`;
    const nets = part.heater.nets.map((net) => result.circuit.nets[net].name).join(" ");
    const pins = Object.entries(facts?.file.other_pins ?? {})
      .filter(([, use]) => /^(heater|filament)\b/.test(use))
      .map(([pin]) => pin);
    rows.push([
      "heater",
      pins.join("+") || "–",
      nets,
      `${voltsOf(solution, key) || "–"} across`,
      currentOf(solution, key) || "–",
      powerOf(solution, key) || "–",
    ]);
  }
  return table(["electrode", "pin", "net", "from common, idle", "current", "power"], rows);
}
