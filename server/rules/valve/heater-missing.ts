import type { Circuit, NetIndex, Valve } from "../../circuit/model.ts";
import { heaterVolts } from "../../facts/heaters.ts";
import { bookOf } from "../../facts/valves/book.ts";
import { finding, listed, netName, partsOf, relatedPart } from "../frame/index.ts";
import type { Fix, Rule } from "../rule.ts";
import { sameNode } from "../shared/nodes.ts";
import { sectionsOfValve } from "../shared/sections.ts";
import { secondaries, windingVolts } from "../supply/heaters.ts";

/** Valves named beside the finding. */
const MOST_RELATED = 4;

const stage = (name: string, second: string): string => `amp "${name}"
transformer T1 15VA {
  primary 230V 60R { a b }
  heater  6.3V 1.1A { h1 gnd }
}
source B1 250V { plus: HT, minus: gnd }
valve V1 EL84 { plate: HT, screen: HT, grid: g1, cathode: k1, heater: h1 gnd }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R2 180R 5W wirewound -- gnd
HT -- resistor R3 100k 1W 500V -- p2
valve V2 ECC83 { a { plate: p2, grid: g2, cathode: k2 }${second} }
g2 -- resistor R4 1M 0.5W -- gnd
k2 -- resistor R5 1k5 0.5W -- gnd
`;

export const heaterMissing: Rule = {
  id: "valve/heater-missing",
  severity: "warning",
  sentence: "One valve's heater is not written, though the others' are.",
  why:
    "As the file has it the valve stays cold and does nothing; and where only the line is missing, its current is missing from the " +
    "winding, the transformer and the fuse, and nobody holds its volts.",
  source: "common practice: every valve in an amplifier is heated",
  quiet:
    "Quiet in bench files where no valve has its heater written, or fewer have than have not, on valves of which nothing else is " +
    "wired, and on types without a heater. A rectifier that is its own heater is not counted among the others.",
  bad: stage("A valve without fire", ""),
  good: stage("Both of them lit", ", heater: h1 gnd"),
  *check(context) {
    const { circuit } = context;
    const unlit: Valve[] = [];
    const lit: Valve[] = [];
    for (const valve of partsOf(circuit, "valve")) {
      yield;
      const facts = valve.type === undefined ? undefined : bookOf(circuit).find(valve.type);
      if (!facts || facts.heater.length === 0) continue;
      if (valve.heater) {
        if (facts.heating !== "direct" && !isOwnCathode(circuit, valve)) lit.push(valve);
      } else if (sectionsOfValve(circuit, valve).length > 0) unlit.push(valve);
    }
    if (lit.length === 0) return;
    for (const valve of lit) context.checked(valve.reference);
    if (unlit.length > lit.length) return;
    for (const valve of unlit) {
      yield;
      context.checked(valve.reference);
      const nets = netsFor(circuit, valve, lit);
      const names = nets?.map((net) => netName(circuit, net)).join(" ");
      const others = lit.map(({ reference }) => reference);
      yield finding(heaterMissing, {
        message:
          `${valve.reference}'s heater is not written, though ${others.length > MOST_RELATED ? `those of ${others.length} other valves are` : `${listed(others)}'s ${others.length > 1 ? "are" : "is"}`}: ` +
          `without heat it does nothing, and its heater's current is in no sum. Write ${names ? `heater: ${names}` : "heater: and the two nets that it hangs on"}.`,
        on: [valve.reference],
        place: valve.referencePlace,
        related: lit.slice(0, MOST_RELATED).map((other) => relatedPart(other, "has its heater written")),
        fix: names === undefined ? undefined : written(valve, names),
      });
    }
  },
};

/** Its heater stands at its own supply, and has to be written for the cathode's sake. */
function isOwnCathode(circuit: Circuit, valve: Valve): boolean {
  return sectionsOfValve(circuit, valve).some(
    ({ rectifier, cathode }) =>
      rectifier && cathode !== undefined && valve.heater?.nets.some((net) => sameNode(circuit, cathode, net)),
  );
}

/** The leads of another valve, from a winding or a source of the volts that this type can be wired for. */
function netsFor(
  circuit: Circuit,
  valve: Valve,
  lit: readonly Valve[],
): readonly [NetIndex, NetIndex] | undefined {
  const facts = valve.type === undefined ? undefined : bookOf(circuit).find(valve.type);
  if (!facts || facts.heating === "direct") return undefined;
  const suits = (volts: number | undefined) =>
    volts !== undefined &&
    facts.heater.some((entry) => Math.abs(volts / entry.volts - 1) <= heaterVolts.error.value);
  for (const { heater } of lit) {
    if (!heater) continue;
    const [a, b] = heater.nets;
    for (const { winding } of secondaries(circuit))
      if (suits(windingVolts(circuit, winding, a, b))) return [a, b];
    for (const source of partsOf(circuit, "source")) {
      const ends = [...source.terminals.values()];
      if (ends.includes(a) && ends.includes(b) && suits(source.volts.value)) return [a, b];
    }
  }
  return undefined;
}

/** Behind the last electrode of a valve in one piece, or behind its last section's block. */
function written(valve: Valve, names: string): Fix | undefined {
  const last = valve.sections[valve.sections.length - 1];
  if (!last || names.includes(".")) return undefined;
  const places = last.name === "" ? [...last.electrodePlaces.values()] : [last.place];
  if (places.length === 0) return undefined;
  const { file, range } = places.reduce((a, b) => (b.range.end > a.range.end ? b : a));
  return {
    title: `Write heater: ${names}`,
    edits: [{ place: { file, range: { start: range.end, end: range.end } }, text: `, heater: ${names}` }],
  };
}
