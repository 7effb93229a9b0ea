/**
 * Turns of a transformer's windings from what is written on it.
 *
 * Rated volts hold with every rated winding at its rated current together, in phase, at the primary's rated volts
 * (IEC 61558-1; docs of the language). With the core at u volts per rated primary volt, a secondary of n open-circuit volts
 * gives V = n u - R I, and the primary's resistance takes the rest: u = 1 - (Rp/Vp^2) * sum(n I). Together a quadratic in u.
 */
import type { Transformer, Winding } from "../../circuit/model.ts";

export interface WoundSegment {
  /** Volts at one volt per turn: open-circuit rms volts at the primary's rated volts. */
  readonly turns: number;
  readonly ohms: number;
}

export interface Wound {
  readonly winding: Winding;
  readonly primary: boolean;
  readonly segments: readonly WoundSegment[];
  /** rms. */
  readonly ratedAmps?: number;
}

export interface WoundTransformer {
  readonly transformer: Transformer;
  readonly windings: readonly Wound[];
  /** False where the primary's resistance does not let the rated currents through: half of its volts are then taken as lost in it. */
  readonly givesRated: boolean;
}

/** Resistance is never less than this part of a winding's volts over its amperes: an ideal winding has no current of its own. */
const leastShare = 1e-6;

/**
 * @param direct rms amperes of a winding for one ampere of direct current, for windings whose current is written `dc`
 * @param mains windings that stand on the mains, the primary and any others: they give the core its volts, and load nothing
 */
export function woundTransformer(
  transformer: Transformer,
  direct: (winding: Winding) => number,
  mains: readonly Winding[] = transformer.primary ? [transformer.primary] : [],
): WoundTransformer {
  const { primary } = transformer;
  const secondaries = transformer.secondaries.filter((winding) => !mains.includes(winding));
  const endToEnd = (winding: Winding) =>
    winding.segmentVolts.reduce((sum, volts) => sum + Math.abs(volts), 0);
  const rms = (winding: Winding) => {
    const amps = winding.amps?.value;
    if (amps === undefined || !(amps > 0)) return undefined;
    return winding.direct ? amps * direct(winding) : amps;
  };
  const sound = (ohms: number) => (ohms > 0 && Number.isFinite(ohms) ? ohms : 0);
  // Windings that share the load, in series or side by side, halve what one of them would lose.
  const shares = mains.flatMap((winding) =>
    endToEnd(winding) > 0 ? sound(winding.ohms.value) / endToEnd(winding) ** 2 : [],
  );
  const share = shares.some((own) => own === 0)
    ? 0
    : shares.length > 0
      ? 1 / shares.reduce((sum, own) => sum + 1 / own, 0)
      : 0;

  // u^2 - u (1 - share * fixed) + share * rated = 0
  let rated = 0;
  let fixed = 0;
  for (const winding of secondaries) {
    const amps = rms(winding);
    if (amps === undefined) continue;
    const volts = endToEnd(winding);
    if (winding.noLoad) fixed += volts * amps;
    else rated += (volts + sound(winding.ohms.value) * amps) * amps;
  }
  const b = 1 - share * fixed;
  const inside = b * b - 4 * share * rated;
  // Where the primary's resistance does not let the rated currents through, half is the most that it gives: supply/winding-resistance
  // tells it, and holds nothing that rests on it against a limit.
  const givesRated = inside >= 0 && b > 0;
  const core = givesRated ? (b + Math.sqrt(inside)) / 2 : 0.5;

  const wind = (winding: Winding, isPrimary: boolean): Wound => {
    const volts = endToEnd(winding);
    const amps = rms(winding);
    const ohms = sound(winding.ohms.value);
    const loaded = !isPrimary && !winding.noLoad && amps !== undefined;
    const open = loaded ? (volts + ohms * amps) / core : volts;
    const least = volts > 0 ? (leastShare * volts) / (amps ?? 1) : 1e-6;
    return {
      winding,
      primary: isPrimary,
      ratedAmps: amps,
      segments: winding.segmentVolts.map((segment) => {
        const part = volts > 0 ? Math.abs(segment) / volts : 1 / winding.segmentVolts.length;
        return { turns: open * part, ohms: Math.max(ohms * part, least * part, 1e-9) };
      }),
    };
  };
  return {
    transformer,
    windings: [
      ...(primary ? [wind(primary, true)] : []),
      ...mains.filter((w) => w !== primary).map((w) => wind(w, true)),
      ...secondaries.map((w) => wind(w, false)),
    ],
    givesRated,
  };
}
