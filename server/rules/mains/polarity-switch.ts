import type { Circuit, NetIndex, Part, Switch } from "../../circuit/model.ts";
import { finding, netName, partsOn, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide, reach } from "./graph.ts";

export const polaritySwitch: Rule = {
  id: "mains/polarity-switch",
  severity: "error",
  sentence: "A ground or polarity switch moves a capacitor, or common itself, between active and neutral.",
  why:
    "It was a cure for hum on two-core cords. In one of its positions the chassis hangs from the active through one " +
    "capacitor, and when that fails short the metal and the strings are live.",
  source: "common practice: remove it with its capacitor and fit a three-core cord",
  quiet: "Quiet on voltage selectors and on switches that move only a primary or its taps.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Ground switch",
    mains: "mains 120 V 60 Hz US",
    cord: `cord W1 1.0mm2 anchored {
  active:  inA  60mm black
  neutral: inN  60mm white
  earth:   inE 110mm green
}`,
    way: `inA -- fuse F1 T630mA 250V -- fused
fused -- switch S1 mains 250V 6A -- live
switch S2 ground spdt centre-off 250V 3A { common: mid, 1: live, 2: inN }
mid -- capacitor C1 2n2 Y2 250VAC ceramic -- chassis`,
    transformer: `transformer T1 40VA {
  primary 120V 8R { live inN }
  heater 6.3V 5A  { h1 gnd }
}`,
  }),
  good: example({
    name: "No ground switch",
    mains: "mains 120 V 60 Hz US",
    cord: `cord W1 1.0mm2 anchored {
  active:  inA  60mm black
  neutral: inN  60mm white
  earth:   inE 110mm green
}`,
    way: `inA -- fuse F1 T630mA 250V -- fused
fused -- switch S1 mains 250V 6A -- live`,
    transformer: `transformer T1 40VA {
  primary 120V 8R { live inN }
  heater 6.3V 5A  { h1 gnd }
}`,
  }),
  leads: [{ rule: "mains/crossed", sharing: "part", manner: "mark" }],
  *check(context) {
    const { circuit } = context;
    const side = mainsSide(circuit);
    if (!side) return;
    for (const part of side.switches) {
      yield;
      context.checked(part.reference);
      const active = reach(side, side.active, { without: part });
      const neutral = reach(side, side.neutral, { without: part });
      const moved = movedBy(
        part,
        (net) => active.has(net),
        (net) => neutral.has(net),
      ).find((common) => metalOf(circuit, side.earthy, common) !== undefined);
      if (moved === undefined) continue;
      const metal = metalOf(circuit, side.earthy, moved);
      const what = metal?.through ? metal.through.reference : netName(circuit, moved);
      yield finding(polaritySwitch, {
        message:
          `${part.reference} moves ${what}${metal?.through ? ` (to ${netName(circuit, metal.net)})` : ""} between active and ` +
          "neutral: in one position the metalwork hangs from the active. Take the switch and the capacitor out, and fit a " +
          "three-core cord with its earth on the chassis.",
        on: [part.reference, ...(metal?.through ? [metal.through.reference] : [netName(circuit, moved)])],
        place: part.place,
        related: [relatedPart(metal?.through, "it goes to the metalwork")],
      });
    }
  },
};

/** Commons of poles that have the active on one throw and the neutral on another. */
function movedBy(
  part: Switch,
  active: (net: NetIndex) => boolean,
  neutral: (net: NetIndex) => boolean,
): NetIndex[] {
  return part.poles.flatMap((pole) => {
    const throws = [...pole.throws.values()];
    return pole.common !== undefined && throws.some(active) && throws.some(neutral) ? [pole.common] : [];
  });
}

/** The metal that a net is, or leads to through one capacitor or resistor. */
function metalOf(
  circuit: Circuit,
  earthy: ReadonlySet<NetIndex>,
  net: NetIndex,
): { readonly net: NetIndex; readonly through?: Part } | undefined {
  if (earthy.has(net)) return { net };
  for (const part of partsOn(circuit, net)) {
    if (part.kind !== "capacitor" && part.kind !== "resistor") continue;
    const metal = [...part.terminals.values()].find((to) => earthy.has(to));
    if (metal !== undefined) return { net: metal, through: part };
  }
  return undefined;
}
