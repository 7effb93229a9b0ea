/** The output stage as the rules see it: which sections work into which output transformer, on which side. */

import { KeptWith } from "../../circuit/kept-with.ts";
import type { Circuit, NetIndex, OutputTransformer } from "../../circuit/model.ts";
import { gridStopper, gridWinding, plateStopper } from "../../facts/practice.ts";
import { ends, partsOf, partsOn } from "../frame/index.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying, type Section } from "../shared/sections.ts";

export interface OutputSection {
  readonly section: Section;
  readonly transformer: OutputTransformer;
  /** 0: the first end of the winding, 1: the last of a push-pull one. */
  readonly side: 0 | 1;
  readonly pushPull: boolean;
}

const kept = new KeptWith<Circuit, readonly OutputSection[]>();

export function outputSections(circuit: Circuit): readonly OutputSection[] {
  let found = kept.get(circuit);
  if (found) return found;
  found = partsOf(circuit, "output-transformer").flatMap((transformer) => {
    const nets = transformer.plates?.nets ?? [];
    if (nets.length < 2 || drivesGrids(circuit, transformer)) return [];
    const pushPull = !isSingleEnded(transformer);
    const first = behind(circuit, nets[0]);
    const last = pushPull ? behind(circuit, nets[nets.length - 1]) : new Set<NetIndex>();
    return amplifying(circuit).flatMap((section): OutputSection[] => {
      if (section.plate === undefined) return [];
      const side = first.has(section.plate) ? 0 : last.has(section.plate) ? 1 : undefined;
      return side === undefined ? [] : [{ section, transformer, side, pushPull }];
    });
  });
  kept.set(circuit, found);
  return found;
}

/** True for a driver or interstage transformer: its secondary works into grids, which ask for no load. */
export function drivesGrids(circuit: Circuit, transformer: OutputTransformer): boolean {
  const { speaker } = transformer;
  if (!speaker) return false;
  const common = circuit.ground === undefined ? [] : netsWith(circuit, circuit.ground);
  const reached = new Set<NetIndex>();
  for (const net of speaker.nets.flatMap((own) => netsWith(circuit, own))) {
    if (common.includes(net)) continue;
    reached.add(net);
    for (const part of partsOn(circuit, net)) {
      if (part.kind === "speaker") return false;
      if (part.kind !== "resistor" || part.ohms.value > gridStopper.mostOhms) continue;
      for (const end of ends(part) ?? []) for (const own of netsWith(circuit, end)) reached.add(own);
    }
  }
  if (speaker.ohms.length > 0 && speaker.ohms.every((ohms) => ohms > gridWinding.leastOhms)) return true;
  return amplifying(circuit).some(
    ({ grid }) => grid !== undefined && reached.has(grid) && !common.includes(grid),
  );
}

/** Two nets, or three of which the middle one is a screen tap and the last the supply. */
export function isSingleEnded({ plates }: OutputTransformer): boolean {
  const count = plates?.nets.length ?? 0;
  return count === 2 || (count === 3 && plates?.tap !== undefined);
}

/** Nets of a winding's end, through stoppers. */
export function behind(circuit: Circuit, net: NetIndex): ReadonlySet<NetIndex> {
  const seen = new Set<NetIndex>(netsWith(circuit, net));
  for (const at of seen) {
    for (const part of partsOn(circuit, at)) {
      const small =
        (part.kind === "resistor" && part.ohms.value <= plateStopper.mostOhms) ||
        (part.kind === "choke" && part.ohms.value <= 10);
      if (!small) continue;
      for (const end of ends(part) ?? []) for (const own of netsWith(circuit, end)) seen.add(own);
    }
  }
  return seen;
}
