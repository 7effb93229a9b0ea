import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { finding, listed, netName, partsOn, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { ledByCurrent } from "../shared/led.ts";
import { networkOf } from "../shared/network.ts";
import { amplifying, electrodePlace, type Section } from "../shared/sections.ts";
import { cathodeResistors } from "./bias.ts";

const MOST_NEAR = 16;

export const gridOpen: Rule = {
  id: "valve/grid-open",
  severity: "error",
  sentence: "The grid has no dc path to anywhere: its leak is missing or off.",
  why:
    "The grid drifts to wherever its own leakage takes it. In a small stage that is a dead or howling channel; in an output stage " +
    "the current climbs until the valve or the transformer goes.",
  source:
    "common practice; every sheet gives a largest grid-circuit resistance, and an open grid is past any",
  quiet:
    "Quiet where any resistor, pot, winding, choke or a plate or cathode that it is tied to gives it a path. A grid that is not wired at all is told too.",
  bad: `amp "A leak left out"
source B1 210V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R3 1k5 0.5W -- gnd
p1 -- capacitor C1 22n 630V film -- g2
valve V2 EL84 { plate: HT, screen: HT, grid: g2, cathode: k2 }
k2 -- resistor R4 180R 5W wirewound -- gnd
g1 -- resistor R2 1M 0.5W -- gnd
`,
  good: `amp "With its leak"
source B1 210V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R3 1k5 0.5W -- gnd
p1 -- capacitor C1 22n 630V film -- g2
g2 -- resistor R5 470k 0.5W -- gnd
valve V2 EL84 { plate: HT, screen: HT, grid: g2, cathode: k2 }
k2 -- resistor R4 180R 5W wirewound -- gnd
g1 -- resistor R2 1M 0.5W -- gnd
`,
  leads: [
    { rule: "circuit/no-dc-path", sharing: "part", manner: "attach" },
    { rule: "valve/bias-missing", sharing: "part", manner: "attach" },
    { rule: "valve/plate-dissipation", sharing: "part", manner: "attach" },
    { rule: "valve/screen-dissipation", sharing: "part", manner: "attach" },
    { rule: "valve/cathode-current", sharing: "part", manner: "attach" },
    { rule: "rating/capacitor-voltage", sharing: "part", manner: "attach" },
    { rule: "rating/resistor-power", sharing: "part", manner: "attach" },
    ...ledByCurrent,
    { rule: "valve/bias-cold", sharing: "any", manner: "mark" },
  ],
  *check(context) {
    const { circuit } = context;
    const network = networkOf(circuit);
    const groups = new Map<ReadonlySet<number>, Open[]>();
    for (const section of amplifying(circuit)) {
      yield;
      const { grid, plate } = section;
      // A section with nothing but a cathode, or none of its plate wired, is used as something else.
      if (plate === undefined) continue;
      context.checked(section.valve.reference);
      // A diode-connected or unused section may leave it out; the physics takes it as tied to its cathode.
      if (grid === undefined || network.fixed(grid) || network.nodeOf(grid) === -1) continue;
      const together = network.reachedFrom(grid);
      const group = groups.get(together);
      if (group) group.push({ section, grid });
      else groups.set(together, [{ section, grid }]);
    }
    for (const group of groups.values()) yield told(circuit, group);
  },
};

interface Open {
  readonly section: Section;
  readonly grid: NetIndex;
}

/** Grids that resistance joins hang on one leak, or on none. */
function told(circuit: Circuit, group: readonly Open[]): Finding {
  const [{ section, grid }, ...others] = group;
  const valves = new Set(group.map((one) => one.section.valve));
  // More than a few parts on one grid are a slip of a name, and each need not be told with each.
  const near = partsOn(circuit, grid)
    .slice(0, MOST_NEAR)
    .filter((part) => part.kind !== "valve" || !valves.has(part));
  const only =
    near.length > 0
      ? `: only ${listed(
          near.map((part) => part.reference),
          6,
        )} on it`
      : "";
  const same =
    others.length > 0
      ? ` ${listed(
          others.map((one) => one.section.key),
          6,
        )} hang${others.length > 1 ? "" : "s"} on the same.`
      : "";
  return finding(gridOpen, {
    message: `${section.key}'s grid (${netName(circuit, grid)}) has no dc path${only}. Give it its leak to common or to the bias.${same}`,
    on: [
      ...group.flatMap((one) => [
        one.section.valve.reference,
        `${one.section.key}.grid`,
        netName(circuit, one.grid),
      ]),
      ...near.map((part) => part.reference),
      ...group.flatMap((one) => onCathode(circuit, one.section)).map((part) => part.reference),
    ],
    place: electrodePlace(section, "grid"),
    related: [
      ...near.slice(0, 3).map((part) => relatedPart(part, `${part.reference} is on the grid`)),
      ...others.map((one) => ({
        on: one.section.valve.reference,
        message: `${one.section.key} hangs on the same`,
        place: electrodePlace(one.section, "grid"),
      })),
    ],
  });
}

/** What the cathode's current drives up. */
function onCathode(circuit: Circuit, { cathode }: Section): readonly Part[] {
  if (cathode === undefined) return [];
  const resistors = cathodeResistors(circuit, cathode);
  const bypass =
    resistors.length > 0 ? partsOn(circuit, cathode).filter((part) => part.kind === "capacitor") : [];
  return [...resistors, ...bypass];
}
