/**
 * Whether a push-pull stage is its own mirror image: then half of the cycle tells the other half. The mirror exchanges
 * the two sides' sections, nodes and ports and turns the transformer's volts round.
 */

import { integers } from "../linear/slabs.ts";
import type { Stage, StageNode } from "./stage.ts";

/** Volts within which two ports are alike. */
const ALIKE_VOLTS = 1e-3;

/** Index of each thing's image. */
export interface Mirror {
  readonly sections: Int32Array;
  readonly branches: Int32Array;
  readonly ports: Int32Array;
}

/** @returns undefined where the stage is not symmetrical. */
export function mirrorOf(stage: Stage): Mirror | undefined {
  const { sections, branches, portVolts, portOhms } = stage;
  const partner = integers(sections.length).fill(-1);
  const image = new Map<StageNode, StageNode>();
  const pair = (a: StageNode | undefined, b: StageNode | undefined): boolean => {
    if (a === undefined || b === undefined) return a === b;
    const known = image.get(a);
    if (known !== undefined) return known === b;
    if (image.has(b) || a < 0 !== b < 0) return false;
    image.set(a, b);
    image.set(b, a);
    return true;
  };
  for (let i = 0; i < sections.length; i++) {
    if (partner[i] >= 0) continue;
    const one = sections[i];
    const j = sections.findIndex(
      (other, k) => k > i && partner[k] < 0 && other.side === -one.side && other.law === one.law,
    );
    if (j < 0) return undefined;
    const other = sections[j];
    const alike =
      pair(one.plate, other.plate) &&
      pair(one.screen, other.screen) &&
      pair(one.cathode, other.cathode) &&
      pair(one.grid, other.grid);
    if (!alike) return undefined;
    partner[i] = j;
    partner[j] = i;
  }
  // Branches: each has an image with its turns reversed. Nodes not met yet (a tap, a common stopper) are met here.
  const branchImage = integers(branches.length);
  const open = new Set(branches.map((_, i) => i));
  for (let progress = true; open.size > 0 && progress; ) {
    progress = false;
    for (const i of open) {
      const { from, to, siemens, turns } = branches[i];
      const a = image.get(from);
      const b = image.get(to);
      if (a === undefined && b === undefined) continue;
      const found = [...open].find((k) => {
        const other = branches[k];
        if (Math.abs(other.siemens - siemens) > 1e-9 * siemens || other.turns !== -turns) return false;
        return (a === undefined || other.from === a) && (b === undefined || other.to === b);
      });
      if (found === undefined || !pair(from, branches[found].from) || !pair(to, branches[found].to))
        return undefined;
      branchImage[i] = found;
      branchImage[found] = i;
      open.delete(i);
      open.delete(found);
      progress = true;
    }
  }
  if (open.size > 0) return undefined;
  const p = portVolts.length;
  const portImage = Int32Array.from({ length: p }, (_, i) => {
    const other = image.get(-1 - i);
    return other === undefined ? i : -1 - other;
  });
  for (let i = 0; i < p; i++) {
    if (Math.abs(portVolts[i] - portVolts[portImage[i]]) > ALIKE_VOLTS) return undefined;
    for (let j = 0; j < p; j++) {
      const one = portOhms[i * p + j];
      const other = portOhms[portImage[i] * p + portImage[j]];
      if (Math.abs(one - other) > 1e-6 * (Math.abs(one) + 1)) return undefined;
    }
  }
  return { sections: partner, branches: branchImage, ports: portImage };
}
