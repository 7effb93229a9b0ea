/** What a reading should have been, at the mains that it was taken at. */
import type { Circuit, Measurement, NetIndex } from "../../circuit/model.ts";
import type { Analysis, Band, Solution } from "../../physics/results.ts";
import { LEVELS, netName } from "../frame/index.ts";

export interface Computed extends Band {
  /** The solved level nearest to the reading's mains. */
  readonly solution: Solution;
  /** False: the file does not say at which mains; the band then runs over the supply's whole range. */
  readonly atMains: boolean;
  /** The reading is an alternating voltage, rms. */
  readonly alternating: boolean;
  /** The band is given from the part's second terminal to its first: see `turned`. */
  readonly turned: boolean;
}

/** How the reading is written in a message: "HT1", "V3.cathode", "across R14". */
export function targetName(reading: Measurement): string {
  const { target } = reading;
  switch (target.kind) {
    case "net":
      return target.name;
    case "across":
      return `across ${target.reference}`;
    case "through":
      return `through ${target.reference}`;
    case "electrode":
      return `${target.reference}.${target.electrode}`;
    default:
      return target.kind;
  }
}

/** What the reading is on, for `on`. */
export function targetOn(reading: Measurement): string {
  const { target } = reading;
  if (target.kind === "net") return target.name;
  if (target.kind === "across" || target.kind === "through") return target.reference;
  return target.kind === "electrode" ? `${target.reference}.${target.electrode}` : target.kind;
}

/**
 * The band of the reading at its mains, with everything warm and no signal; undefined where it was not computed. What is read
 * across or through a part without a sign says how much, not which way: nobody notes where the leads of the meter were.
 */
export function computed(analysis: Analysis, reading: Measurement): Computed | undefined {
  const written = asWritten(analysis, reading);
  const { kind } = reading.target;
  if (!written || (kind !== "across" && kind !== "through")) return written;
  if (!(reading.value > 0 && written.nominal < 0)) return written;
  const { nominal, low, high } = written;
  return { ...written, nominal: -nominal, low: -high, high: -low, turned: true };
}

/** From the first terminal to the second. */
function asWritten(analysis: Analysis, reading: Measurement): Computed | undefined {
  const levels = LEVELS.flatMap((level) => {
    const solution = analysis.solution("idle", level);
    if (!solution?.solved) return [];
    const value = valueIn(analysis.circuit, solution, reading);
    return value && Number.isFinite(value.band.nominal) ? [{ solution, ...value }] : [];
  }).sort((a, b) => a.solution.mainsVolts - b.solution.mainsVolts);
  if (levels.length === 0) return undefined;
  const middle = levels.find((entry) => entry.solution.level === "nominal") ?? levels[0];
  const at = reading.atMainsVolts;
  if (at === undefined) {
    return {
      nominal: middle.band.nominal,
      low: Math.min(...levels.map((entry) => entry.band.low)),
      high: Math.max(...levels.map((entry) => entry.band.high)),
      solution: middle.solution,
      atMains: false,
      alternating: middle.alternating,
      turned: false,
    };
  }
  const nearest = levels.reduce((a, b) =>
    Math.abs(b.solution.mainsVolts - at) < Math.abs(a.solution.mainsVolts - at) ? b : a,
  );
  // The two levels on either side; past the ends the line of the last two goes on.
  const above = levels.findIndex((entry) => entry.solution.mainsVolts >= at);
  const upper = above < 0 ? levels.length - 1 : Math.max(1, above);
  const [a, b] = [levels[upper - 1], levels[upper]];
  if (!a || !b || a.solution.mainsVolts === b.solution.mainsVolts) {
    return {
      ...nearest.band,
      solution: nearest.solution,
      atMains: true,
      alternating: nearest.alternating,
      turned: false,
    };
  }
  const share = (at - a.solution.mainsVolts) / (b.solution.mainsVolts - a.solution.mainsVolts);
  const along = (name: keyof Band) => a.band[name] + share * (b.band[name] - a.band[name]);
  const nominal = along("nominal");
  return {
    nominal,
    low: Math.min(nominal, along("low")),
    high: Math.max(nominal, along("high")),
    solution: nearest.solution,
    atMains: true,
    alternating: nearest.alternating,
    turned: false,
  };
}

function valueIn(
  circuit: Circuit,
  solution: Solution,
  reading: Measurement,
): { readonly band: Band; readonly alternating: boolean } | undefined {
  const { target, unit } = reading;
  const plain = (band: Band | undefined) => band && { band, alternating: false };
  switch (target.kind) {
    case "net":
      return netValue(circuit, solution, target.net, reading);
    case "electrode":
      return unit === "ampere"
        ? plain(solution.band(`${target.reference}.${target.electrode}`, "amps"))
        : netValue(circuit, solution, target.net, reading);
    case "across": {
      const volts = solution.band(target.reference, "volts");
      const rms = solution.band(target.reference, "rmsVolts");
      // A heater or a winding: the meter stands on alternating volts, and their average is nothing.
      if (rms && (!volts || isAlternating(rms.nominal, volts.nominal)))
        return { band: rms, alternating: true };
      return plain(volts);
    }
    case "through":
      return plain(solution.band(target.reference, "amps") ?? solution.band(target.reference, "rms"));
    default:
      return undefined;
  }
}

/** True where hardly anything of the volts is direct. */
function isAlternating(rms: number, direct: number): boolean {
  return rms > 2 * Math.abs(direct) && rms > 1;
}

/** A winding's net has next to no direct voltage: a reading there is the alternating one. */
function netValue(circuit: Circuit, solution: Solution, net: NetIndex, reading: Measurement) {
  const rms = solution.rms[net] ?? 0;
  const direct = solution.volts[net];
  const alternating = isAlternating(rms, direct) && reading.value > 0.2 * rms;
  if (alternating) return { band: { nominal: rms, low: rms, high: rms }, alternating };
  if (netName(circuit, net) === undefined) return undefined;
  return { band: solution.netBand(net), alternating: false };
}
