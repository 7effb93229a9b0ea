import type { Circuit, Jack, NetIndex, Switch } from "../../circuit/model.ts";
import { outputValves, switchPosition } from "../../physics/states.ts";
import { finding, listed, netName, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { type Moved, walk } from "../shared/contacts.ts";
import { amplifying, electrodePlace, type Section } from "../shared/sections.ts";

export const gridLeftOpen: Rule = {
  id: "valve/grid-left-open",
  severity: "error",
  sentence:
    "The grid's only dc path goes over a contact: with the switch moved, or a plug in the jack, it hangs on nothing.",
  why:
    "Nobody sees it in the position that the amplifier was measured in. In the other the grid drifts to wherever its own leakage " +
    "takes it: a loud thump at every switching, a dead channel, and in an output stage a current that climbs.",
  source:
    "common practice; every sheet gives a largest grid-circuit resistance, and an open grid is past any",
  quiet:
    "Quiet where a resistor on the grid's own side of the contact gives it a path, and on a grid that is open as the file stands " +
    "(valve/grid-open tells that). Each switch is moved alone, each plug put in alone. Advice where what is plugged in stands on the " +
    "grid of a small stage: a guitar gives a path, and another source may end in a capacitor.",
  bad: `amp "A leak on the other throw"
source B1 210V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
HT -- resistor R2 100k 1W 500V -- p2
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 }, b { plate: p2, grid: g2, cathode: k2 } }
k1 -- resistor R3 1k5 0.5W -- gnd
k2 -- resistor R4 1k5 0.5W -- gnd
g1 -- resistor R5 1M 0.5W -- gnd
p1 -- capacitor C1 22n 630V film -- clean -- resistor R6 470k 0.5W -- gnd
p1 -- capacitor C2 22n 630V film -- crunch
switch S1 channel spdt 250V 1A { common: g2, 1: clean, 2: crunch }
`,
  good: `amp "Each throw with its leak"
source B1 210V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
HT -- resistor R2 100k 1W 500V -- p2
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 }, b { plate: p2, grid: g2, cathode: k2 } }
k1 -- resistor R3 1k5 0.5W -- gnd
k2 -- resistor R4 1k5 0.5W -- gnd
g1 -- resistor R5 1M 0.5W -- gnd
p1 -- capacitor C1 22n 630V film -- clean -- resistor R6 470k 0.5W -- gnd
p1 -- capacitor C2 22n 630V film -- crunch -- resistor R7 470k 0.5W -- gnd
switch S1 channel spdt 250V 1A { common: g2, 1: clean, 2: crunch }
`,
  *check(context) {
    const { circuit } = context;
    /** What resistance alone joins hangs on the same contacts: looked at once. */
    const known = new Map<NetIndex, readonly Left[]>();
    /** Grids that hang together behind one contact are told together, by the contact and their lowest net. */
    const groups = new Map<string, Hanging[]>();
    for (const section of amplifying(circuit)) {
      yield;
      const { grid, plate } = section;
      if (plate === undefined || grid === undefined) continue;
      context.checked(section.valve.reference);
      let left = known.get(grid);
      if (!left) {
        const own = walk(circuit, grid, "none");
        left = own.held ? [] : leftOpen(circuit, grid);
        if (!own.held) for (const net of own.nets) known.set(net, left);
      }
      for (const one of left) {
        const key = `${one.part.reference}|${one.lowest}`;
        const group = groups.get(key);
        if (group) group.push({ ...one, section, grid });
        else groups.set(key, [{ ...one, section, grid }]);
      }
    }
    for (const group of groups.values()) yield told(circuit, group);
  },
};

interface Left {
  readonly part: Switch | Jack;
  /** What leaves the grid open. */
  readonly open: readonly Moved[];
  /** The nets that then hang with it, and the lowest of them. */
  readonly nets: ReadonlySet<NetIndex>;
  readonly lowest: NetIndex;
}

interface Hanging extends Left {
  readonly section: Section;
  readonly grid: NetIndex;
}

/** The contacts that leave a grid open when they are moved; none where it is open as the file stands. */
function leftOpen(circuit: Circuit, grid: NetIndex): readonly Left[] {
  const idle = walk(circuit, grid, "idle");
  if (!idle.held) return [];
  return [...idle.contacts].flatMap((part): Left[] => {
    const open = movesOf(circuit, part).flatMap((moved) => {
      const { held, nets } = walk(circuit, grid, moved);
      return held ? [] : [{ moved, nets }];
    });
    if (open.length === 0) return [];
    const [{ nets }] = open;
    const lowest = [...nets].reduce((least, net) => Math.min(least, net));
    return [{ part, open: open.map(({ moved }) => moved), nets, lowest }];
  });
}

/** The other positions of a switch; of a jack the one with a plug in, where it has a break contact. */
function movesOf(circuit: Circuit, part: Switch | Jack): readonly Moved[] {
  if (part.kind === "jack")
    return [...part.terminals.keys()].some((name) => name.endsWith("-break")) ? [{ part }] : [];
  const now = switchPosition(circuit, part, "idle");
  return part.positions.filter((position) => position !== now).map((position) => ({ part, position }));
}

function told(circuit: Circuit, group: readonly Hanging[]): Finding {
  const [{ section, grid, part, open, nets }, ...others] = group;
  const fed = part.kind === "jack" && plugStandsOn(part, nets);
  const output = group.some((one) => outputValves(circuit).has(one.section.valve.reference));
  const when =
    part.kind === "jack"
      ? `with a plug in ${part.reference}`
      : `with ${part.reference} ${either(open.map(({ position = "" }) => (/^\d/.test(position) ? `at ${position}` : position)))}`;
  const same =
    others.length > 0
      ? ` ${listed(
          others.map((one) => one.section.key),
          6,
        )} hang${others.length > 1 ? "" : "s"} on the same.`
      : "";
  const own = fed ? "no dc path but through what is plugged in" : "no dc path";
  return finding(gridLeftOpen, {
    severity: fed && !output ? "advice" : undefined,
    message:
      `${section.key}'s grid (${netName(circuit, grid)}) has ${own} ${when}: its only way goes over ${part.reference}'s ` +
      `${part.kind === "jack" ? "break contact" : "contact"}. Give it a leak of its own, on the grid's side of ${part.reference}.${same}`,
    on: [
      ...group.flatMap((one) => [
        one.section.valve.reference,
        `${one.section.key}.grid`,
        netName(circuit, one.grid),
      ]),
      part.reference,
    ],
    place: electrodePlace(section, "grid"),
    related: [
      relatedPart(part, "its contact carries the only dc path"),
      ...others.map((one) => ({
        on: one.section.valve.reference,
        message: `${one.section.key} hangs on the same`,
        place: electrodePlace(one.section, "grid"),
      })),
    ],
  });
}

/** True where a contact that the plug touches stands on the grid: whatever is plugged in feeds it. */
const plugStandsOn = (jack: Jack, nets: ReadonlySet<NetIndex>): boolean =>
  ["tip", "ring"].some((contact) => {
    const net = jack.terminals.get(contact);
    return net !== undefined && nets.has(net);
  });

const either = (words: readonly string[]): string =>
  words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} or ${words[words.length - 1]}`;
