import type { Circuit, Measurement, NetIndex, Resistor, Valve } from "../../circuit/model.ts";
import { findValve, limitsOfName } from "../../facts/valves/index.ts";
import type { Analysis } from "../../physics/results.ts";
import { ends, limit, partsOf, quantity, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { targetName } from "./computed.ts";

export const bias: Rule = {
  id: "bench/bias",
  severity: "error",
  sentence: "A measured current, or drop across a cathode resistor, puts a valve past its plate dissipation.",
  why: "Plates that glow at idle end in a runaway: grid emission, more current, and at last the transformer.",
  source: "the valve's published limit",
  quiet:
    "Quiet on readings that say nothing of one valve's current: a cathode fed by several resistors, or valves of " +
    "different types on one resistor. Valves of one type share the current equally.",
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
  *check(context) {
    const { circuit, analysis } = context;
    for (const line of circuit.measurements) {
      for (const { valve, plateAmps, how } of currents(circuit, analysis, line)) {
        const limits = limitsOfName(valve.typeWritten) ?? findValve(valve.typeWritten)?.limits;
        const most = limits?.plateWatts;
        const volts = plateVolts(circuit, analysis, valve);
        if (most === undefined || volts === undefined) {
          context.unchecked(
            valve.reference,
            `its plate dissipation by the reading ${targetName(line)}`,
            line.place,
          );
          continue;
        }
        const found = limit(context, bias, {
          on: [valve.reference, how],
          place: line.place,
          says: `${valve.reference}'s plate dissipates`,
          value: plateAmps * volts,
          limit: most,
          limitIs: `${valve.typeWritten} is rated`,
          unit: "W",
          state: "idle",
          note: `${quantity(plateAmps, "A")} by ${targetName(line)}, at ${quantity(volts, "V")} from plate to cathode`,
          todo: "Bias it colder: more negative grid, or a larger cathode resistor.",
          related: [relatedPart(valve, "the valve that the reading is about")],
          source: limits?.source,
        });
        if (found) yield found;
      }
    }
  },
};

interface ValveCurrent {
  readonly valve: Valve;
  readonly plateAmps: number;
  /** Reference of the resistor or electrode that was read. */
  readonly how: string;
}

/** The plate currents that a reading gives: of the valve that it was taken at, or of all that share the resistor. */
function currents(circuit: Circuit, analysis: Analysis, line: Measurement): ValveCurrent[] {
  const { target } = line;
  const solution = analysis.solution("idle", "nominal");
  if (!solution?.solved) return [];
  if (target.kind === "electrode" && line.unit === "ampere") {
    const valve = circuit.partByReference.get(target.reference.split(".")[0]);
    if (valve?.kind !== "valve" || valve.sections.length !== 1) return [];
    if (target.electrode !== "plate" && target.electrode !== "cathode") return [];
    const share = target.electrode === "plate" ? 1 : plateShare(analysis, valve);
    return [{ valve, plateAmps: line.value * share, how: `${valve.reference}.${target.electrode}` }];
  }
  const resistor = resistorRead(circuit, line);
  if (!resistor) return [];
  const amps = line.unit === "ampere" ? line.value : line.value / resistor.ohms.value;
  const nets = [...resistor.terminals.values()];
  const valves = partsOf(circuit, "valve").filter(
    (valve) =>
      valve.sections.length === 1 && nets.includes(valve.sections[0].electrodes.get("cathode") ?? -1),
  );
  const types = new Set(valves.map((valve) => valve.type));
  if (valves.length === 0 || types.size > 1) return [];
  return valves.map((valve) => ({
    valve,
    plateAmps: (Math.abs(amps) / valves.length) * plateShare(analysis, valve),
    how: resistor.reference,
  }));
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
    return pair && pair.includes(target.net) && pair.includes(circuit.ground ?? -1);
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
function plateShare(analysis: Analysis, valve: Valve): number {
  const readings = analysis.solution("idle", "nominal")?.readings;
  const plate = readings?.get(`${valve.reference}.plate`)?.amps ?? Number.NaN;
  const screen = readings?.get(`${valve.reference}.screen`)?.amps ?? 0;
  const share = plate / (plate + screen);
  // A valve that is computed as cut off says nothing; a pentode's plate takes about nine tenths.
  return share > 0 && share <= 1 ? share : 0.9;
}

/** Plate to cathode, with what was measured of either in place of what was computed. */
function plateVolts(circuit: Circuit, analysis: Analysis, valve: Valve): number | undefined {
  const solution = analysis.solution("idle", "nominal");
  const { electrodes } = valve.sections[0];
  const at = (net: NetIndex | undefined) => {
    if (net === undefined) return Number.NaN;
    const line = circuit.measurements.find(
      ({ target, unit }) =>
        unit === "volt" && (target.kind === "net" || target.kind === "electrode") && target.net === net,
    );
    return line?.value ?? solution?.volts[net] ?? Number.NaN;
  };
  const volts = at(electrodes.get("plate")) - at(electrodes.get("cathode"));
  return Number.isFinite(volts) ? volts : undefined;
}
