/**
 * What a load-line picture shows of one valve section, as plain numbers: plate curves, load lines, the dissipation
 * hyperbola, the operating point and the box that tolerances make of it. Volts plate to cathode, amperes of plate.
 */
import type { Circuit, MainsLevel, NetIndex, Valve, ValveSection } from "../../circuit/model.ts";
import { bookOf } from "../../facts/valves/book.ts";
import type { SectionLaw } from "../device.ts";
import { sectionLaw } from "../laws/index.ts";
import type { Analysis } from "../results.ts";

/** Volts, amperes. */
export type CurvePoint = readonly [volts: number, amps: number];

export interface LoadLinePicture {
  /** `V3`, `V1.a`. */
  readonly key: string;
  /** Far corner of the picture. */
  readonly plateVoltsMost: number;
  readonly plateAmpsMost: number;
  readonly curves: readonly { readonly gridVolts: number; readonly points: readonly CurvePoint[] }[];
  /** `dc` and `signal` of a resistance-coupled stage; `class A` and `class B` of a push-pull one, `load` single-ended. */
  readonly lines: readonly {
    readonly name: string;
    readonly ohms: number;
    readonly from: CurvePoint;
    readonly to: CurvePoint;
  }[];
  /** Along the plate's dissipation limit; empty where the sheet prints none. */
  readonly dissipation: readonly CurvePoint[];
  readonly plateWatts?: number;
  readonly plateVoltsLimit?: number;
  readonly operating: {
    readonly volts: number;
    readonly amps: number;
    readonly gridVolts: number;
    readonly screenVolts?: number;
  };
  /** By the parts' tolerances and the valve's spread. */
  readonly box: { readonly volts: readonly [number, number]; readonly amps: readonly [number, number] };
}

/** Plate curves are drawn with this many points each. */
const CURVE_POINTS = 60;

/** A coupling capacitor passes the signal; smaller ones only shape its treble. */
const COUPLING_FARADS = 1e-9;

export type LawOf = (type: string, section: string) => SectionLaw | undefined;

/**
 * @param key    a valve section, `V3` or `V1.a`
 * @returns undefined for what is no section with a law, or has no solution
 */
export function loadLine(
  analysis: Analysis,
  key: string,
  level: MainsLevel = "nominal",
  lawOf: LawOf = sectionLaw,
): LoadLinePicture | undefined {
  const { circuit } = analysis;
  const found = sectionOf(circuit, key);
  const solution = analysis.solution("idle", level);
  if (!found || !solution?.solved || found.valve.type === undefined) return undefined;
  const law = lawOf(found.valve.type, found.section.name);
  const plate = solution.readings.get(`${key}.plate`);
  const grid = solution.readings.get(`${key}.grid`);
  if (!law || plate?.volts === undefined || plate.amps === undefined || grid?.volts === undefined)
    return undefined;
  const screenVolts = solution.readings.get(`${key}.screen`)?.volts;
  const operating = { volts: plate.volts, amps: plate.amps, gridVolts: grid.volts, screenVolts };

  const limits = sectionLimits(circuit, found.valve.type, found.section.name);
  const lines = linesOf(analysis, found.section, level, operating);
  const plateVoltsMost = niceAbove(
    Math.max(1.5 * operating.volts, ...lines.flatMap((line) => [line.from[0], line.to[0]]), 50),
  );
  const zeroBias = plateCurrent(law, 0, screenVolts ?? 0, Math.min(plateVoltsMost, 3 * operating.volts));
  const steepest = Math.max(...lines.map((line) => Math.max(line.from[1], line.to[1])), 2 * operating.amps);
  const plateAmpsMost = niceAbove(
    Math.min(Math.max(steepest, 1.2 * operating.amps), Math.max(zeroBias, operating.amps) * 1.3),
  );

  // Grid steps: round volts, about five from zero to the bias and as many beyond.
  const step = niceStep(Math.max(-operating.gridVolts, 0.5) / 4);
  const curves: { gridVolts: number; points: CurvePoint[] }[] = [];
  for (let i = 0; i <= 12; i++) {
    const gridVolts = i === 0 ? 0 : -i * step;
    const points: CurvePoint[] = [];
    for (let k = 0; k <= CURVE_POINTS; k++) {
      // Closer together near the knee.
      const volts = plateVoltsMost * (k / CURVE_POINTS) ** 1.6;
      points.push([volts, plateCurrent(law, gridVolts, screenVolts ?? 0, volts)]);
    }
    if (points[CURVE_POINTS][1] < 0.01 * plateAmpsMost && gridVolts < operating.gridVolts) break;
    curves.push({ gridVolts, points });
  }

  const dissipation: CurvePoint[] = [];
  const watts = limits?.plateWatts;
  if (watts !== undefined) {
    for (let k = 0; k <= CURVE_POINTS; k++) {
      const volts = plateVoltsMost * ((k + 1) / (CURVE_POINTS + 1));
      const amps = watts / volts;
      if (amps <= plateAmpsMost) dissipation.push([volts, amps]);
    }
  }
  const volts = solution.band(`${key}.plate`, "volts");
  const amps = solution.band(`${key}.plate`, "amps");
  return {
    key,
    plateVoltsMost,
    plateAmpsMost,
    curves,
    lines,
    dissipation,
    plateWatts: watts,
    plateVoltsLimit: limits?.plateVolts,
    operating,
    box: {
      volts: [volts?.low ?? operating.volts, volts?.high ?? operating.volts],
      amps: [amps?.low ?? operating.amps, amps?.high ?? operating.amps],
    },
  };
}

const scratch = new Float64Array(12);
function plateCurrent(law: SectionLaw, vg: number, vs: number, vp: number): number {
  law.evaluate(vg, vs, vp, scratch);
  return scratch[0];
}

function sectionOf(circuit: Circuit, key: string): { valve: Valve; section: ValveSection } | undefined {
  for (const part of circuit.parts) {
    if (part.kind !== "valve") continue;
    for (const section of part.sections) {
      if ((section.name === "" ? part.reference : `${part.reference}.${section.name}`) === key) {
        return { valve: part, section };
      }
    }
  }
  return undefined;
}

function sectionLimits(circuit: Circuit, type: string, section: string) {
  const facts = bookOf(circuit).find(type);
  return facts?.sections.find((other) => other.name === section)?.limits ?? facts?.limits;
}

type Operating = LoadLinePicture["operating"];

function linesOf(analysis: Analysis, section: ValveSection, level: MainsLevel, at: Operating) {
  const { circuit } = analysis;
  const plate = section.electrodes.get("plate");
  if (plate === undefined) return [];
  for (const part of circuit.parts) {
    if (part.kind !== "output-transformer" || !part.plates?.nets.includes(plate)) continue;
    const driven = analysis.drive(level).find((result) => result.stage === part.reference);
    const ohms = driven?.loadOhms ?? part.plates.ohms.value;
    const pushPull =
      part.plates.nets.length === 5 || (part.plates.nets.length === 3 && part.plates.tap === undefined);
    return pushPull
      ? // While both conduct each sees half of plate to plate; alone, a quarter, from the idle volts down.
        [lineThrough("class A", ohms / 2, at), lineThrough("class B", ohms / 4, { volts: at.volts, amps: 0 })]
      : [lineThrough("load", ohms, at)];
  }
  const dc = resistanceFrom(circuit, plate, (net) => (analysis.solution("idle", level)?.volts[net] ?? 0) > 0);
  if (dc === undefined) return [];
  const cathode = section.electrodes.get("cathode");
  const below =
    cathode === undefined || cathode === circuit.ground
      ? 0
      : (resistanceFrom(circuit, cathode, () => true) ?? 0);
  const lines = [lineThrough("dc", dc + below, at)];
  const next = nextGridOhms(circuit, plate);
  if (next !== undefined) lines.push(lineThrough("signal", 1 / (1 / dc + 1 / next), at));
  return lines;

  function lineThrough(name: string, ohms: number, point: { volts: number; amps: number }) {
    const crossing = point.volts + point.amps * ohms;
    return { name, ohms, from: [0, crossing / ohms] as CurvePoint, to: [crossing, 0] as CurvePoint };
  }
}

/** Ohms of the one resistor (or those side by side) from a net; signal returns and grid leaks excluded by `wanted`. */
function resistanceFrom(
  circuit: Circuit,
  net: NetIndex,
  wanted: (other: NetIndex) => boolean,
): number | undefined {
  let siemens = 0;
  for (const part of circuit.parts) {
    if (part.kind !== "resistor" || !(part.ohms.value > 0)) continue;
    const a = part.terminals.get("a");
    const b = part.terminals.get("b");
    const other = a === net ? b : b === net ? a : undefined;
    if (other !== undefined && other !== net && wanted(other)) siemens += 1 / part.ohms.value;
  }
  return siemens > 0 ? 1 / siemens : undefined;
}

/** What hangs behind the coupling capacitors of a plate. */
function nextGridOhms(circuit: Circuit, plate: NetIndex): number | undefined {
  let siemens = 0;
  for (const part of circuit.parts) {
    if (part.kind !== "capacitor" || part.farads.value < COUPLING_FARADS) continue;
    const ends = [...part.terminals.values()];
    if (ends.length !== 2 || !ends.includes(plate)) continue;
    const far = ends[0] === plate ? ends[1] : ends[0];
    const leak = resistanceFrom(circuit, far, (other) => other !== plate);
    if (leak !== undefined) siemens += 1 / leak;
    for (const pot of circuit.parts) {
      if (pot.kind !== "pot" || !(pot.ohms.value > 0)) continue;
      if ([pot.terminals.get("top"), pot.terminals.get("bottom")].includes(far))
        siemens += 1 / pot.ohms.value;
    }
  }
  return siemens > 0 ? 1 / siemens : undefined;
}

/** 1, 2 or 5 times a power of ten, at or above. */
function niceStep(value: number): number {
  const power = 10 ** Math.floor(Math.log10(Math.max(value, 1e-9)));
  const part = value / power;
  return power * (part <= 1 ? 1 : part <= 2 ? 2 : part <= 5 ? 5 : 10);
}

/** A round number somewhat above. */
function niceAbove(value: number): number {
  const step = niceStep(value / 8);
  return Math.ceil(value / step - 1e-9) * step;
}
