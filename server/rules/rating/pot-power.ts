import type { Pot } from "../../circuit/model.ts";
import { smallestPart } from "../../facts/practice.ts";
import type { Solution } from "../../physics/results.ts";
import { factPlace, limit, partsOf, quantity, type Row, readingsAt, rowOf, worstOf } from "../frame/index.ts";
import type { Rule, RuleContext } from "../rule.ts";
import { networkOf } from "../shared/network.ts";
import { topologyOf } from "../shared/nodes.ts";

/** Watts go with the square of a current: below this share of the rating no tolerance decides. */
const FAR = 0.3;

const HALVES = ["top", "bottom"] as const;

export const potPower: Rule = {
  id: "rating/pot-power",
  severity: "error",
  sentence: "The pot's track carries more than it is rated for.",
  why:
    "A pot's watts are for its whole track. Where the current leaves by the wiper only a piece of it is heated, and that piece " +
    "burns at a current that the whole would carry.",
  source: "the pot's rated watts, as the current that the whole track carries at them",
  quiet:
    "Quiet where the track carries no dc, and below 20 mW. Each part of the track is held, at the setting written and at both " +
    "ends of its travel.",
  bad: `amp "A screen supply through a pot"
source B1 100V { plus: HT, minus: gnd }
pot R1 10k lin 0.25W at 10% { top: HT, wiper: x, bottom: gnd }
x -- resistor R2 1k 5W -- gnd
`,
  good: `amp "A bias trimmer"
source B1 50V { plus: gnd, minus: nB }
pot R1 25k lin 0.5W at 50% { top: nB, wiper: x, bottom: y }
y -- resistor R2 27k 0.5W -- gnd
x -- resistor R3 220k 0.5W -- gnd
`,
  *check(context) {
    for (const part of partsOf(context.circuit, "pot")) {
      yield;
      const halves = HALVES.map((half) => `${part.reference}.${half}`);
      const rows = [part.reference, ...halves].map((key) => rowOf(context.analysis, key));
      const most = worstOf(
        context.analysis,
        {},
        (solution) => wholeWatts(solution, part, rows),
        (solution) => {
          const nominal = wholeWatts(solution, part, rows);
          if ((nominal ?? 0) < FAR * (part.watts?.value ?? Number.POSITIVE_INFINITY)) return undefined;
          const bands = halves.map((half) => solution.band(half, "amps"));
          const most = Math.max(
            ...bands.flatMap((band) => (band ? [Math.abs(band.high), Math.abs(band.low)] : [])),
          );
          if (nominal === undefined || !Number.isFinite(most)) return undefined;
          return { nominal, low: nominal, high: Math.max(nominal, most ** 2 * part.ohms.value) };
        },
      );
      if (!most) continue;
      const turned = atEnds(context, part);
      const value = Math.max(most.value, turned ?? 0);
      if (!part.watts) {
        if (value > smallestPart.trimmerWatts)
          context.unchecked(part.reference, "dissipation (no watts written)", part.referencePlace);
        continue;
      }
      const byTurning = turned !== undefined && turned > most.value && turned > part.watts.value;
      const found = limit(context, potPower, {
        on: part.reference,
        place: factPlace(part, "watts"),
        value,
        limit: part.watts.value,
        unit: "W",
        state: most.state,
        mains: most.mains,
        // What only an end of the travel does is avoided by not turning it there.
        severity: byTurning && most.value <= part.watts.value ? "warning" : undefined,
        words: () => ({
          says: `${part.reference}'s track carries what would heat the whole of it with`,
          note: byTurning
            ? "at an end of its travel"
            : `${quantity(Math.sqrt(most.value / part.ohms.value), "A")} through ${quantity(part.ohms.value, "Ω")}`,
          todo: "A pot of more watts, or a fixed resistor that bounds the current.",
        }),
      });
      if (found) yield found;
    }
  },
};

/** What heats: the effective value where it alternates (a hum pot across the heaters), else the direct current. */
const heating = (
  reading: { readonly amps?: number; readonly rms?: number } | undefined,
): number | undefined => {
  if (!reading) return undefined;
  const { amps, rms } = reading;
  if (amps === undefined) return rms === undefined ? undefined : Math.abs(rms);
  return rms === undefined ? Math.abs(amps) : Math.max(Math.abs(amps), Math.abs(rms));
};

/** Watts that the larger current of the two halves would make in the whole track. */
function wholeWatts(solution: Solution, part: Pot, rows: readonly Row[]): number | undefined {
  let most: number | undefined;
  for (const row of rows) {
    const amps = heating(readingsAt(row, solution));
    if (amps !== undefined) most = most === undefined ? amps : Math.max(most, amps);
  }
  return most === undefined ? undefined : most ** 2 * part.ohms.value;
}

/**
 * The same with the wiper at either end, resistances alone around it (what it feeds a valve's grid takes no current, and
 * supplies hold their volts).
 */
function atEnds(context: RuleContext, part: Pot): number | undefined {
  const network = networkOf(context.circuit);
  const nets = ["top", "wiper", "bottom"].map((name) => part.terminals.get(name));
  const [top, wiper, bottom] = nets;
  if (top === undefined || wiper === undefined || bottom === undefined) return undefined;
  const idle = context.analysis.solution("idle", "nominal");
  if (!idle?.solved) return undefined;
  const topology = topologyOf(context.circuit);
  const volts = (node: number) => {
    const [net] = topology.nets[node] ?? [];
    const value = net === undefined ? 0 : idle.volts[net];
    return Number.isNaN(value) ? 0 : value;
  };
  let most = 0;
  // A hair from each end: the track's last turn is never without resistance.
  for (const setting of [0.02, 0.98]) {
    const solved = network.solve(new Map(), [top, wiper, bottom], volts, {
      settings: new Map([[part.reference, setting]]),
    });
    if (!solved) return undefined;
    const [vTop, vWiper, vBottom] = solved;
    const amps = Math.max(
      Math.abs(vTop - vWiper) / ((1 - setting) * part.ohms.value),
      Math.abs(vWiper - vBottom) / (setting * part.ohms.value),
    );
    most = Math.max(most, amps ** 2 * part.ohms.value);
  }
  return most;
}
