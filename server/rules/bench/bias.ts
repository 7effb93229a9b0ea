import type { Circuit, Measurement, NetIndex, Resistor } from "../../circuit/model.ts";
import type { Analysis } from "../../physics/results.ts";
import { ends, limit, listed, partsOf, quantity, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { amplifying, rated, type Section } from "../shared/sections.ts";
import { targetName, targetOn } from "./computed.ts";

export const bias: Rule = {
  id: "bench/bias",
  severity: "error",
  sentence: "A measured current, or drop across a cathode resistor, puts a valve past its plate dissipation.",
  why: "Plates that glow at idle end in a runaway: grid emission, more current, and at last the transformer.",
  source: "the valve's published limit",
  quiet:
    "Quiet on readings that say nothing of one section's current: a cathode fed by several resistors, or sections of " +
    "different types on one resistor. Those of one type share the current equally.",
  bad: `amp "Biased hot"
source B1 300V { plus: HT1, minus: gnd }
source B2 6.3V { plus: h1, minus: gnd }
valve V1 EL84 { plate: HT1, screen: HT1, grid: g1, cathode: k1, heater: h1 gnd }
g1 -- resistor R1 470k 0.5W 350V -- gnd
k1 -- resistor R2 270R 5W 500V wirewound -- gnd
measured V1.cathode 16V
`,
  good: `amp "Biased well"
source B1 250V { plus: HT1, minus: gnd }
source B2 6.3V { plus: h1, minus: gnd }
valve V1 EL84 { plate: HT1, screen: HT1, grid: g1, cathode: k1, heater: h1 gnd }
g1 -- resistor R1 470k 0.5W 350V -- gnd
k1 -- resistor R2 270R 5W 500V wirewound -- gnd
measured V1.cathode 10V
`,
  leads: [{ rule: "bench/reading", sharing: "first", manner: "mark" }],
  *check(context) {
    const { circuit, analysis } = context;
    for (const line of circuit.measurements) {
      yield;
      const read = currents(circuit, analysis, line);
      if (!read) continue;
      const [first] = read.sections;
      const { valve } = first;
      const most = rated(first, "plateWatts");
      // Those that share a resistor share its current: the one with the most on its plate is the worst of them.
      const volts = Math.max(
        ...read.sections.map((each) => plateVolts(circuit, analysis, each) ?? Number.NaN),
      );
      const names = listed(read.sections.map((each) => each.key));
      if (most === undefined || Number.isNaN(volts)) {
        context.unchecked(
          valve.reference,
          `its plate dissipation by the reading ${targetName(line)}`,
          line.place,
        );
        continue;
      }
      const found = limit(context, bias, {
        on: [...new Set(read.sections.map((each) => each.valve.reference)), read.how, targetOn(line)],
        place: line.place,
        says:
          read.sections.length > 1
            ? `The plates of ${names} dissipate, each,`
            : `${names}'s plate dissipates`,
        value: read.plateAmps * volts,
        limit: most.value,
        limitIs: `${valve.typeWritten} is rated`,
        unit: "W",
        state: "idle",
        note: `${quantity(read.plateAmps, "A")} by the reading ${whereRead(line)}, at ${quantity(volts, "V")} from plate to cathode`,
        todo: "Bias colder: more negative grid, or a larger cathode resistor.",
        related: read.sections.map((each) => relatedPart(each.valve, "the reading is of its current")),
        source: most.block.source,
      });
      if (found) yield found;
    }
  },
};

interface CurrentRead {
  /** One, or all of one type that share the resistor. */
  readonly sections: readonly Section[];
  /** Of each. */
  readonly plateAmps: number;
  /** Reference of the resistor or electrode that was read. */
  readonly how: string;
}

/** The plate currents that a reading gives: of the section that it was taken at, or of all that share the resistor. */
function currents(circuit: Circuit, analysis: Analysis, line: Measurement): CurrentRead | undefined {
  const { target } = line;
  if (!analysis.solution("idle", "nominal")?.solved) return undefined;
  if (target.kind === "electrode" && line.unit === "ampere") {
    const section = amplifying(circuit).find(({ key }) => key === target.reference);
    if (!section || (target.electrode !== "plate" && target.electrode !== "cathode")) return undefined;
    const share = target.electrode === "plate" ? 1 : plateShare(analysis, section);
    const how = `${section.key}.${target.electrode}`;
    return { sections: [section], plateAmps: line.value * share, how };
  }
  const resistor = resistorRead(circuit, line);
  if (!resistor) return undefined;
  const amps = line.unit === "ampere" ? line.value : line.value / resistor.ohms.value;
  const nets = [...resistor.terminals.values()];
  const sections = amplifying(circuit).filter(({ cathode }) => nets.includes(cathode ?? -1));
  const [first] = sections;
  if (!first || sections.some((other) => !areAlike(first, other))) return undefined;
  const plateAmps = (Math.abs(amps) / sections.length) * plateShare(analysis, first);
  return { sections, plateAmps, how: resistor.reference };
}

/** Of one type, and not a triode beside its bottle's pentode: those have limits, and currents, of their own. */
function areAlike(one: Section, other: Section): boolean {
  const sheet = ({ facts, section }: Section) =>
    facts?.sections.find(({ name }) => name === section.name)?.limits;
  return one.valve.type === other.valve.type && sheet(one) === sheet(other);
}

/** The resistor that the cathode's whole current goes through: read across, through, or by its cathode from common. */
function resistorRead(circuit: Circuit, line: Measurement): Resistor | undefined {
  const { target } = line;
  const resistors = partsOf(circuit, "resistor");
  if (target.kind === "across" || target.kind === "through") {
    const part = resistors.find((resistor) => resistor.reference === target.reference);
    return part && onlyWay(circuit, resistors, part) ? part : undefined;
  }
  if ((target.kind !== "net" && target.kind !== "electrode") || line.unit !== "volt") return undefined;
  const found = resistors.filter((part) => {
    const pair = ends(part);
    return pair?.includes(target.net) && pair.includes(circuit.ground ?? -1);
  });
  return found.length === 1 && onlyWay(circuit, resistors, found[0]) ? found[0] : undefined;
}

/** True where a cathode sits on one end and no other resistor, pot or choke leaves that net. */
function onlyWay(circuit: Circuit, resistors: readonly Resistor[], part: Resistor): boolean {
  const isCathode = (net: NetIndex) =>
    partsOf(circuit, "valve").some((valve) =>
      valve.sections.some((section) => section.electrodes.get("cathode") === net),
    );
  const net = [...part.terminals.values()].find(isCathode);
  if (net === undefined) return false;
  const others = [...resistors, ...partsOf(circuit, "pot", "choke", "diode", "lamp")];
  return others.every((other) => other === part || ![...other.terminals.values()].includes(net));
}

/** The share of the cathode current that goes to the plate, as computed. */
function plateShare(analysis: Analysis, { key }: Section): number {
  const readings = analysis.solution("idle", "nominal")?.readings;
  const plate = readings?.get(`${key}.plate`)?.amps ?? Number.NaN;
  const screen = readings?.get(`${key}.screen`)?.amps ?? 0;
  const share = plate / (plate + screen);
  // A valve that is computed as cut off says nothing; a pentode's plate takes about nine tenths.
  return share > 0 && share <= 1 ? share : 0.9;
}

/** Plate to cathode, with what was measured in place of what was computed. */
function plateVolts(circuit: Circuit, analysis: Analysis, section: Section): number | undefined {
  const solution = analysis.solution("idle", "nominal");
  const { plate, cathode } = section;
  const measured = (net: NetIndex | undefined) =>
    circuit.measurements.find(
      ({ target, unit }) =>
        unit === "volt" && (target.kind === "net" || target.kind === "electrode") && target.net === net,
    )?.value;
  const computedAt = (net: NetIndex | undefined) =>
    net === undefined ? Number.NaN : (solution?.volts[net] ?? Number.NaN);
  let atPlate = measured(plate);
  if (atPlate === undefined) {
    // A reading at the other end of the output transformer's winding says it too, less the computed drop in the copper.
    const winding = partsOf(circuit, "output-transformer").find((part) =>
      part.plates?.nets.includes(plate ?? -1),
    );
    const end = winding?.plates?.nets.find((net) => measured(net) !== undefined);
    const there = measured(end);
    if (there !== undefined) atPlate = there + computedAt(plate) - computedAt(end);
  }
  const volts = (atPlate ?? computedAt(plate)) - (measured(cathode) ?? computedAt(cathode));
  return Number.isFinite(volts) ? volts : undefined;
}

/** Where it was read; a current by the volts across a resistor is as good as the ohms that are written of it. */
function whereRead(line: Measurement): string {
  switch (line.target.kind) {
    case "across":
      return `${targetName(line)} as it is written`;
    case "through":
      return targetName(line);
    default:
      return `at ${targetName(line)}`;
  }
}
