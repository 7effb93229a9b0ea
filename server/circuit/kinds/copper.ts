/** Resistances of a transformer's windings as its size lets one expect them. */
import {
  directFactor,
  noLoadRise,
  noLoadRiseAt,
  primaryCopperShare,
  unknownVoltAmperes,
} from "../../facts/transformers.ts";
import type { Given, Transformer, Winding } from "../model.ts";
import { estimated } from "./common.ts";
import { isCentreTapped, type WrittenWinding } from "./windings.ts";

type Rated = Pick<Winding, "volts" | "amps" | "direct" | "segmentVolts">;

const rmsOf = (winding: Rated): number | undefined => {
  const amps = winding.amps?.value;
  if (amps === undefined || !winding.direct) return amps;
  return amps * (isCentreTapped(winding.segmentVolts) ? directFactor.centreTapped : directFactor.whole).value;
};

// Each half of a centre-tapped winding carries its current for half of the time: together the VA of both over root two.
const voltAmperesOf = (winding: Rated): number | undefined => {
  const amps = rmsOf(winding);
  if (amps === undefined) return undefined;
  return (winding.volts.value * amps) / (isCentreTapped(winding.segmentVolts) ? Math.SQRT2 : 1);
};

/** What every winding would have by the size of its transformer. */
export interface UsualCopper {
  readonly primary: number;
  /** In the order of the secondaries. */
  readonly secondaries: readonly number[];
  /** What it rests on, for a sentence. */
  readonly source: string;
}

/** @param given the transformer's written VA */
export function usualCopper(
  primary: Rated | undefined,
  secondaries: readonly Rated[],
  given: number | undefined,
): UsualCopper {
  const known = secondaries.reduce((sum, winding) => sum + (voltAmperesOf(winding) ?? 0), 0);
  const unknown = secondaries.filter((winding) => voltAmperesOf(winding) === undefined).length;
  const whole = given ?? (known > 0 ? known : unknownVoltAmperes.value);
  const rise = noLoadRiseAt(whole);
  const basis =
    given !== undefined
      ? `${given} VA`
      : known > 0
        ? `about ${Math.round(whole)} VA, its windings' ratings together`
        : `${unknownVoltAmperes.value} VA taken, since it gives none`;
  const primaryRise = rise * primaryCopperShare.value;
  return {
    primary: primary ? (primaryRise * primary.volts.value ** 2) / whole : 0,
    secondaries: secondaries.map((winding) => {
      // A winding without a current gets an even share of what the others leave, a tenth of the whole at least.
      const share = Math.max((whole - known) / Math.max(unknown, 1), whole / 10);
      const amps = rmsOf(winding) ?? share / winding.volts.value;
      return ((rise - primaryRise) * winding.volts.value) / amps;
    }),
    source: `estimated from ${basis}; ${noLoadRise.source}`,
  };
}

/** Resistances where the file gives none: estimates. */
export function withCopper(
  primary: WrittenWinding | undefined,
  secondaries: readonly WrittenWinding[],
  given: number | undefined,
): Pick<Transformer, "primary" | "secondaries"> {
  const usual = usualCopper(primary, secondaries, given);
  const finish = (winding: WrittenWinding, ohms: number): Winding => {
    const estimate: Given = estimated(Number.isFinite(ohms) && ohms > 0 ? ohms : 0, usual.source);
    return Object.assign({}, winding, { ohms: winding.ohms ?? estimate });
  };
  return {
    primary: primary && finish(primary, usual.primary),
    secondaries: secondaries.map((winding, index) => finish(winding, usual.secondaries[index])),
  };
}
