import type { Transformer, Winding } from "../../circuit/model.ts";
import { primaryOff } from "../../facts/mains.ts";
import { voltsBetween } from "../../physics/mains-windings.ts";
import { ledBySupply } from "../circuit/common-cause.ts";
import { figure, finding, listed, percent, quantity, relatedPart } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { type MainsSide, mainsSide, type Positions, type Primary, type Reach, reach } from "./graph.ts";

export const primaryVoltage: Rule = {
  id: "mains/primary-voltage",
  severity: "warning",
  sentence: "The primary is wound for another voltage than the mains.",
  why:
    "Everything on the secondaries moves with it: heaters run too hot or too cold, the high tension rises past " +
    "capacitors and valves, and an iron core driven too hard hums and heats.",
  source: "common practice (5 % above, 3 % below)",
  quiet:
    "Quiet on a voltage selector with a position that suits, on 117 V windings at 120 V, and on 240 V windings at 230 V; " +
    "a winding that the mains does not reach is not looked at.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "220 V winding on 240 V",
    mains: "mains 240 V 50 Hz AU",
    transformer: `transformer T1 40VA {
  primary 220V 30R { live inN }
  heater 6.3V 5A   { h1 gnd }
}`,
  }),
  good: example({
    name: "240 V tap on 240 V",
    mains: "mains 240 V 50 Hz AU",
    transformer: `transformer T1 40VA {
  primary 0-220-240V 30R { inN t220 live }
  heater 6.3V 5A   { h1 gnd }
}`,
  }),
  // What the wrong winding does behind it stays told, as its doing.
  leads: [...ledBySupply, { rule: "valve/heater-voltage", sharing: "any", manner: "mark" }],
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    const mains = context.circuit.mains.volts.nominal;
    const connected = yield* connections(side);
    for (const [index, primary] of side.primaries.entries()) {
      yield;
      const found = [...connected[index]];
      if (found.length === 0) continue;
      context.checked(primary.label);
      const off = (volts: number) => mains / volts - 1;
      const suits = (volts: number) =>
        off(volts) <= primaryOff.below.value + 1e-9 && off(volts) >= -primaryOff.above.value - 1e-9;
      if (found.some(suits)) continue;
      const volts = found.reduce((a, b) => (Math.abs(off(b)) < Math.abs(off(a)) ? b : a));
      const change = off(volts);
      const { transformer, winding } = primary;
      yield finding(primaryVoltage, {
        message:
          `${nameOf(primary)} for ${quantity(volts, "V")} and ${primary.windings.length > 1 ? "stand" : "stands"} on ${quantity(mains, "V")} mains: everything on ` +
          `the secondaries is ${change > 0 ? "up" : "down"} by ${percent(Math.abs(change))}${examples(transformer, change, primary.windings)}. ` +
          `Use a tap for ${quantity(mains, "V")}, or a ${change > 0 ? "dropping" : "stepping-up"} transformer ahead of it.`,
        on: [primary.label, transformer.reference],
        place: winding.place,
        value: volts,
        limit: mains,
        unit: "V",
        mains: "nominal",
        related: [relatedPart(transformer, "all its secondaries move with the mains")],
      });
    }
  },
};

/**
 * For each primary the volts of the part of its winding that stands between active and neutral, in every position where it stands
 * there.
 */
function* connections(side: MainsSide): Generator<undefined, readonly ReadonlySet<number>[]> {
  const found = side.primaries.map(() => new Set<number>());
  for (const positions of side.positions) {
    yield;
    const active = reach(side, side.active, { positions });
    const neutral = reach(side, side.neutral, { positions });
    for (const [index, { winding, windings }] of side.primaries.entries()) {
      if (windings.length > 1) {
        const volts = together(side, positions, windings, active, neutral);
        if (volts !== undefined) found[index].add(Number(volts.toPrecision(9)));
        continue;
      }
      const at = (reached: ReadonlyMap<number, unknown>) =>
        winding.nets.flatMap((net, tap) => (reached.has(net) ? [tap] : []));
      for (const a of at(active)) {
        for (const n of at(neutral)) {
          const volts = between(winding, a, n);
          if (volts > 0) found[index].add(Number(volts.toPrecision(9)));
        }
      }
    }
  }
  return found;
}

/** Volts of windings that stand together on the mains, with what joins them in one position of the switches. */
function together(
  side: MainsSide,
  positions: Positions,
  windings: readonly Winding[],
  active: Reach,
  neutral: Reach,
): number | undefined {
  const [A, N] = [-1, -2];
  const places = new Map<number, number>();
  for (const net of windings.flatMap(({ nets }) => nets)) {
    if (active.has(net)) places.set(net, A);
    else if (neutral.has(net)) places.set(net, N);
    else if (!places.has(net))
      for (const other of reach(side, [net], { positions }).keys()) places.set(other, net);
  }
  return voltsBetween(windings, (net) => places.get(net) ?? net, A, N);
}

const nameOf = ({ transformer, windings, label }: Primary): string =>
  windings.length > 1
    ? `${listed(windings.map(({ name }) => `${transformer.reference}.${name}`))} are, as they are joined, wound`
    : `${label} is wound`;

function between(winding: Winding, a: number, b: number): number {
  return winding.segmentVolts
    .slice(Math.min(a, b), Math.max(a, b))
    .reduce((sum, volts) => sum + Math.abs(volts), 0);
}

/** ", so heater gives 6.9 V for 6.3 V and ht 316 V for 290 V" */
function examples(transformer: Transformer, change: number, mains: readonly Winding[]): string {
  const rows = transformer.secondaries
    .filter((winding) => winding.segmentVolts.length > 0 && !mains.includes(winding))
    .slice(0, 3)
    .map((winding) => {
      // A centre-tapped winding is named by its half.
      const volts = winding.nets.length === 3 ? Math.abs(winding.segmentVolts[0]) : winding.volts.value;
      return `${winding.name} ${figure(volts * (1 + change))} V for ${figure(volts)} V`;
    });
  return rows.length > 0 ? ` (${rows.join(", ")})` : "";
}
