import type { Circuit, Part } from "../../circuit/model.ts";
import { leastBias } from "../../facts/practice.ts";
import type { Solution } from "../../physics/results.ts";
import { finding, netName, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Related, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { ledByCurrent } from "../shared/led.ts";
import { networkOf } from "../shared/network.ts";
import { amplifying, electrodePlace, rated, type Section } from "../shared/sections.ts";
import { cathodeResistors, SENSE_OHMS } from "./bias.ts";
import { outputSections } from "./output.ts";

/** A leak this large biases a small valve by its own grid current. Source: ECC83 sheets give 10 MΩ to 22 MΩ for it. */
const GRID_LEAK_OHMS = 2e6;
/** Plates of less than this are of small valves, for which bias is a matter of sound, not of life. */
const POWER_WATTS = 5;
/** So far above the grid is no bias supply. */
const PULL_VOLTS = 20;

export const biasMissing: Rule = {
  id: "valve/bias-missing",
  severity: "error",
  sentence: "The valve runs without bias.",
  why:
    "With its grid at its cathode an output valve draws all that it can: it glows within seconds. A small valve clips half of " +
    "every wave and draws grid current through whatever drives it.",
  source: leastBias.source,
  quiet:
    "Quiet on small valves that bias themselves by a large grid leak or by their own drop, on direct-coupled stages, whose grid " +
    "is held by the plate ahead, on sections without plate current, and in cold start.",
  bad: `amp "A bias supply that never arrives"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 1k 3W wirewound -- s1
HT -- resistor R5 100R 10W wirewound -- p1
valve V1 6L6GC { plate: p1, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R1 47k 0.5W -- gnd
`,
  good: `amp "With its bias"
source B1 300V { plus: HT, minus: gnd }
source B2 27V { plus: gnd, minus: nB }
HT -- resistor R4 1k 3W wirewound -- s1
HT -- resistor R5 100R 10W wirewound -- p1
valve V1 6L6GC { plate: p1, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R1 47k 0.5W -- nB
`,
  leads: [
    { rule: "valve/plate-dissipation", sharing: "part", manner: "attach" },
    { rule: "valve/screen-dissipation", sharing: "part", manner: "attach" },
    { rule: "valve/cathode-current", sharing: "part", manner: "attach" },
    ...ledByCurrent,
  ],
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "nominal");
    if (!idle?.solved) return;
    const outputs = new Set(outputSections(circuit).map((entry) => entry.section.key));
    const network = networkOf(circuit);
    const all: Finding[] = [];
    for (const section of amplifying(circuit)) {
      yield;
      const { grid, cathode } = section;
      if (grid === undefined || cathode === undefined || !section.facts) continue;
      const amps = idle.readings.get(`${section.key}.plate`)?.amps ?? 0;
      const volts = idle.volts[grid] - idle.volts[cathode];
      if (Number.isNaN(volts) || !(amps > 1e-4)) continue;
      context.checked(section.valve.reference);
      const power = outputs.has(section.key) || (rated(section, "plateWatts")?.value ?? 0) >= POWER_WATTS;
      if (volts < -(power ? leastBias.powerVolts : leastBias.volts)) continue;
      if (!power && (heldByPlate(section, circuit) || leakOhms(section, network) >= GRID_LEAK_OHMS)) continue;
      const own = cathodeResistors(circuit, cathode);
      const found = finding(biasMissing, {
        severity: power ? "error" : "warning",
        message: `${section.key} runs without bias: its grid stands ${where(volts)} at idle, and its plate draws ${quantity(amps, "A")}. ${
          own.some((part) => part.kind !== "resistor" || part.ohms.value > SENSE_OHMS)
            ? "Its cathode resistor is too small, or something pulls the grid up."
            : "No negative supply comes to the grid: look at its rectifier and its way there, or fit a resistor in the cathode's lead."
        }`,
        on: [section.valve.reference, `${section.key}.grid`],
        place: electrodePlace(section, "grid"),
        state: "idle",
        mains: "nominal",
        value: volts,
        unit: "V",
        related: [
          ...own.slice(0, 2).map((part) => relatedPart(part, `${part.reference} is in the cathode's lead`)),
          ...pulling(circuit, idle, network.partsFrom(grid), idle.volts[grid]),
        ],
      });
      all.push(found);
    }
    yield* alike(all);
  },
};

/** What leads from the grid's way to somewhere far more positive: it pulls the grid up. */
function pulling(
  circuit: Circuit,
  idle: Solution,
  way: readonly Part[],
  gridVolts: number,
): readonly (Related | undefined)[] {
  return way.flatMap((part) => {
    const high = [...part.terminals.values()].find((net) => idle.volts[net] > gridVolts + PULL_VOLTS);
    return part.kind === "resistor" && high !== undefined
      ? [
          relatedPart(
            part,
            `${part.reference} comes from ${netName(circuit, high)}, ${quantity(idle.volts[high], "V")}`,
          ),
        ]
      : [];
  });
}

const where = (volts: number): string =>
  volts > 0 ? `${quantity(volts, "V")} above its cathode` : `only ${quantity(-volts, "V")} below its cathode`;

function heldByPlate(section: Section, circuit: Parameters<typeof amplifying>[0]): boolean {
  return amplifying(circuit).some(
    (other) => other !== section && other.plate !== undefined && other.plate === section.grid,
  );
}

function leakOhms(section: Section, network: ReturnType<typeof networkOf>): number {
  const grid = section.grid;
  if (grid === undefined) return 0;
  return network.solve(new Map([[grid, 1]]), [grid], () => 0)?.[0] ?? 0;
}
