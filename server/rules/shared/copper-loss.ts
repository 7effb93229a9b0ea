/** How much of a winding's volts its written resistance loses at the rated current. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, Transformer, Winding } from "../../circuit/model.ts";
import { copperLoss } from "../../facts/transformers.ts";
import { mainsWindings } from "../../physics/mains-windings.ts";
import { directFactor } from "./direct-factor.ts";

/** A winding whose resistance stands in the file, and whose load is known. */
export interface CopperLoss {
  readonly transformer: Transformer;
  readonly winding: Winding;
  readonly onMains: boolean;
  /** Rated rms amperes: of a secondary its own, of a winding on the mains its part of what all the secondaries draw. */
  readonly amps: number;
  /** The load in VA; of the whole transformer for a winding on the mains. */
  readonly voltAmperes: number;
  /** The resistance in which half of the volts are lost: with more the winding cannot give its rated current. */
  readonly mostOhms: number;
}

const kept = new KeptWith<Circuit, readonly CopperLoss[]>();

export function copperLosses(circuit: Circuit): readonly CopperLoss[] {
  let found = kept.get(circuit);
  if (!found) {
    const all: CopperLoss[] = [];
    for (const part of circuit.parts) if (part.kind === "transformer") addLosses(circuit, part, all);
    found = all;
    kept.set(circuit, found);
  }
  return found;
}

/** True for a resistance with which the winding cannot be as it is rated: no figure behind it says anything. */
export const isImpossible = ({ winding, mostOhms }: CopperLoss): boolean => winding.ohms.value > mostOhms;

/** @param share of the open-circuit volts lost @returns the resistance that loses it, for one that loses half of them */
export function ohmsForLoss(loss: CopperLoss, share: number): number {
  const { most } = copperLoss;
  const of = (part: number): number => {
    // Rated volts hold on the mains side before the loss, and on a secondary behind it, unless they are the open-circuit ones.
    if (loss.onMains) return part * (1 - part);
    return loss.winding.noLoad ? part : part / (1 - part);
  };
  return (loss.mostOhms * of(share)) / of(most.value);
}

function addLosses(circuit: Circuit, part: Transformer, all: CopperLoss[]): void {
  const mains = mainsWindings(circuit).get(part) ?? [];
  const most = copperLoss.most.value;
  let load = 0;
  let sound = true;
  for (const winding of part.secondaries) {
    if (mains.includes(winding) || winding.refused) continue;
    const amps = ratedAmps(circuit, winding);
    const volts = winding.volts.value;
    if (amps === undefined || !(volts > 0)) continue;
    const drop = winding.noLoad ? 0 : winding.ohms.value * amps;
    const share = winding.noLoad ? most : most / (1 - most);
    const loss: CopperLoss = {
      transformer: part,
      winding,
      onMains: false,
      amps,
      voltAmperes: volts * amps,
      mostOhms: (share * volts) / amps,
    };
    if (winding.ohms.origin === "file") all.push(loss);
    if (isImpossible(loss)) sound = false;
    load += (volts + (isImpossible(loss) ? 0 : drop)) * amps;
  }
  // What a secondary's slip makes of the load is that winding's affair.
  const voltAmperes = sound
    ? Math.max(load, part.voltAmperes?.value ?? 0)
    : (part.voltAmperes?.value ?? load);
  if (!(voltAmperes > 0)) return;
  for (const winding of mains) {
    const volts = winding.volts.value;
    if (winding.ohms.origin !== "file" || winding.refused || !(volts > 0)) continue;
    const own = voltAmperes / mains.length;
    all.push({
      transformer: part,
      winding,
      onMains: true,
      amps: own / volts,
      voltAmperes,
      mostOhms: (most * (1 - most) * volts ** 2) / own,
    });
  }
}

/** rms amperes, of one half where centre-tapped; undefined where none are written. */
function ratedAmps(circuit: Circuit, winding: Winding): number | undefined {
  const amps = winding.amps?.value;
  if (amps === undefined || !(amps > 0)) return undefined;
  return winding.direct ? amps * directFactor(circuit, winding) : amps;
}
