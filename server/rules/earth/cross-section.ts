import type { Circuit, Given, NetIndex, Place } from "../../circuit/model.ts";
import { factPlace, finding, partsOn, quantity } from "../frame/index.ts";
import { MAINS_CAUTION } from "../mains/caution.ts";
import { example } from "../mains/example.ts";
import type { Rule } from "../rule.ts";
import { protectivePath, stepsTo } from "./path.ts";

export const crossSection: Rule = {
  id: "earth/cross-section",
  severity: "error",
  sentence: "The protective conductor is thinner than the active.",
  why: "In a fault the earth carries all that the active can deliver until the fuse blows, and must not be the one that melts.",
  source: "IEC 60364-5-54, from memory: up to 16 mm² the protective conductor equals the line conductor",
  quiet: "Quiet where both are the cord's one cross-section; what is not said is told as unchecked.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Thin earth",
    cord: `cord W1 1.0mm2 anchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 110mm 0.75mm2 green-yellow
}`,
  }),
  good: example({ name: "Earth as thick as the active" }),
  *check(context) {
    const { circuit } = context;
    const path = protectivePath(circuit);
    for (const entry of path?.entries ?? []) {
      yield;
      const [earth, active] = [entry.leads.get("earth"), entry.leads.get("active")];
      if (!earth || !active) continue;
      const activeArea = active.squareMetres ?? entry.squareMetres ?? wireArea(circuit, active.net);
      const earthArea = earth.squareMetres ?? entry.squareMetres;
      const wires = path?.metal === undefined ? [] : stepsTo(path.solid, path.metal).map((step) => step.part);
      const pieces: { on: string; area?: Given; place: Place; what: string }[] = [
        { on: entry.reference, area: earthArea, place: earth.place, what: `The earth of ${entry.reference}` },
        ...wires.flatMap((part) =>
          part.kind === "wire"
            ? [
                {
                  on: part.reference,
                  area: part.squareMetres,
                  place: factPlace(part, "squareMetres"),
                  what: `${part.unnamed ? "The wire" : part.reference} in the protective path`,
                },
              ]
            : [],
        ),
      ];
      for (const piece of pieces) {
        // An inlet's terminals have no cross-section of their own.
        if (!activeArea || !piece.area) {
          if (entry.kind === "cord" || piece.on !== entry.reference) {
            context.unchecked(piece.on, "the cross-section of the protective conductor", piece.place);
          }
          continue;
        }
        context.checked(piece.on);
        if (piece.area.value >= activeArea.value * (1 - 1e-9)) continue;
        yield finding(crossSection, {
          message:
            `${piece.what} is ${quantity(piece.area.value, "m2")}, thinner than the active's ` +
            `${quantity(activeArea.value, "m2")}. Use at least ${quantity(activeArea.value, "m2")}.`,
          on: [piece.on],
          place: piece.place,
          value: piece.area.value,
          limit: activeArea.value,
          unit: "m2",
          related: [{ on: entry.reference, message: "the active, to be matched", place: active.place }],
        });
      }
    }
  },
};

/** Behind an inlet the conductors are the set's own wires: the thickest that leaves its active. */
function wireArea(circuit: Circuit, net: NetIndex): Given | undefined {
  let most: Given | undefined;
  for (const part of partsOn(circuit, net)) {
    if (part.kind !== "wire" || !part.squareMetres) continue;
    if (!most || part.squareMetres.value > most.value) most = part.squareMetres;
  }
  return most;
}
