import type { Circuit, Transformer, Winding } from "../../circuit/model.ts";
import { heaterVolts } from "../../facts/heaters.ts";
import { primaryOff } from "../../facts/mains.ts";
import { voltsBetween } from "../../physics/mains-windings.ts";
import { ledBySupply } from "../circuit/common-cause.ts";
import { figure, finding, listed, netName, partsOn, percent, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { netsWith } from "../shared/nodes.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { type MainsSide, mainsSide, type Positions, type Primary, type Reach, reach } from "./graph.ts";

/** What else goes wrong where the volts are off by far. */
const FAR_OFF = [
  "mains/cord-rating",
  "mains/fuse-value",
  "mains/fuse-voltage",
  "mains/switch-rating",
  "output/transformer-current",
  "rating/capacitor-reverse",
  "rating/capacitor-ripple",
  "rating/choke-current",
  "rating/diode-current",
  "rating/lamp-voltage",
  "rating/pot-power",
  "rating/series-capacitors",
  "rating/switch-dc",
  "rating/thermistor-current",
  "rating/zener-power",
  "supply/discharge",
  "supply/half-wave",
  "supply/heater-current",
  "supply/no-high-tension",
  "supply/ripple",
  "supply/unloaded",
  "valve/bias-cold",
  "valve/bias-missing",
  "valve/grid-cathode-cold",
  "valve/pair-imbalance",
];
/** What was found in a state, or for want of volts; not a fuse that is too large for its transformer. */
const byFar = (leader: Finding, follower: Finding): boolean =>
  leader.severity === "error" && (follower.state !== undefined || follower.rule.startsWith("supply/"));

export const primaryVoltage: Rule = {
  id: "mains/primary-voltage",
  severity: "warning",
  sentence: "The primary is wound for another voltage than the mains.",
  why:
    "Everything on the secondaries moves with it: heaters run too hot or too cold, the high tension rises past " +
    "capacitors and valves, and an iron core driven too hard hums and heats.",
  source: `common practice (5 % above, 3 % below); past 10 % an error: ${heaterVolts.error.source}`,
  quiet:
    "A warning up to a tenth, past which no heater's rating holds and it is an error. Quiet on a voltage selector with a position that suits, on 117 V windings at 120 V, and on 240 V windings at 230 V; " +
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
  leads: [
    ...ledBySupply,
    { rule: "valve/heater-voltage", sharing: "any", manner: "mark" },
    ...FAR_OFF.map((rule) => ({ rule, sharing: "any", manner: "mark", explains: byFar }) as const),
  ],
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    const mains = context.circuit.mains.volts.nominal;
    const connected = yield* connections(side, (windings) => windings);
    const off = (volts: number) => mains / volts - 1;
    const suits = (volts: number) =>
      off(volts) <= primaryOff.below.value + 1e-9 && off(volts) >= -primaryOff.above.value - 1e-9;
    for (const [index, primary] of side.primaries.entries()) {
      yield;
      const found = [...connected[index]];
      const against = found.some(suits) ? undefined : yield* turned(side, index, suits);
      if (against) {
        yield opposed(primary, against);
        continue;
      }
      if (found.length === 0) continue;
      context.checked(primary.label);
      if (found.some(suits)) continue;
      const volts = found.reduce((a, b) => (Math.abs(off(b)) < Math.abs(off(a)) ? b : a));
      const change = off(volts);
      const { transformer, winding } = primary;
      const gross = Math.abs(change) > heaterVolts.error.value;
      const cause =
        asJoined(context.circuit, primary, suits) ??
        betweenTaps(context.circuit, side, primary, volts, suits);
      yield finding(primaryVoltage, {
        severity: gross ? "error" : undefined,
        message:
          `${cause?.says ?? `${nameOf(primary)} for ${quantity(volts, "V")} and ${primary.windings.length > 1 ? "stand" : "stands"} on ${quantity(mains, "V")} mains`}: everything on ` +
          `the secondaries is ${change > 0 ? "up" : "down"} by ${percent(Math.abs(change))}${examples(transformer, change, primary.windings)}. ` +
          `${cause?.todo ?? `Use a tap for ${quantity(mains, "V")}, or a ${change > 0 ? "dropping" : "stepping-up"} transformer ahead of it.`}`,
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
function* connections(
  side: MainsSide,
  turn: (windings: readonly Winding[]) => readonly Winding[],
): Generator<undefined, readonly ReadonlySet<number>[]> {
  const found = side.primaries.map(() => new Set<number>());
  for (const positions of side.positions) {
    yield;
    const active = reach(side, side.active, { positions });
    const neutral = reach(side, side.neutral, { positions });
    for (const [index, { winding, windings }] of side.primaries.entries()) {
      if (windings.length > 1) {
        const volts = together(side, positions, turn(windings), active, neutral);
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
  const place = (net: number) => places.get(net) ?? net;
  // Side by side and turned against each other they short the mains, whatever each of them is wound for.
  const way = ({ nets }: Winding): number => {
    const [first, last] = [place(nets[0]), place(nets[nets.length - 1])];
    return first === A && last === N ? 1 : first === N && last === A ? -1 : 0;
  };
  const ways = windings.map(way);
  if (ways.includes(1) && ways.includes(-1)) return undefined;
  return voltsBetween(windings, place, A, N);
}

interface Cause {
  /** Left out where the plain sentence says it. */
  readonly says?: string;
  readonly todo: string;
}

/** Of several windings the one that stands the wrong way round: turned, they suit. */
function* turned(
  side: MainsSide,
  index: number,
  suits: (volts: number) => boolean,
): Generator<undefined, Winding | undefined> {
  const { windings } = side.primaries[index];
  // The first is as good a measure as any: it is the others that are turned against it.
  for (const wrong of windings.slice(1)) {
    const turn = (own: readonly Winding[]) =>
      own.map((one) =>
        one === wrong
          ? { ...one, nets: [...one.nets].reverse(), segmentVolts: [...one.segmentVolts].reverse() }
          : one,
      );
    const found = yield* connections(side, turn);
    if ([...found[index]].some(suits)) return wrong;
  }
  return undefined;
}

function opposed({ transformer, windings, label }: Primary, wrong: Winding): Finding {
  const others = listed(
    windings.filter((one) => one !== wrong).map(({ name }) => `${transformer.reference}.${name}`),
  );
  const key = `${transformer.reference}.${wrong.name}`;
  return finding(primaryVoltage, {
    severity: "error",
    message:
      `${key} is the wrong way round against ${others}: their turns oppose each other, the core takes up no volts, and what is left ` +
      `of the copper all but shorts the mains. Exchange the two ends of ${key}.`,
    on: [key, label, transformer.reference],
    place: wrong.place,
    mains: "nominal",
    related: [relatedPart(transformer, "nothing comes from its secondaries as they are rated")],
  });
}

/** Several windings that would suit in series, or side by side, and are joined otherwise. */
function asJoined(circuit: Circuit, primary: Primary, suits: (volts: number) => boolean): Cause | undefined {
  const { transformer, windings } = primary;
  if (windings.length < 2) return undefined;
  const series = windings.reduce((sum, { volts }) => sum + volts.value, 0);
  const manner = suits(series)
    ? "in series"
    : windings.every(({ volts }) => suits(volts.value))
      ? "side by side"
      : "";
  if (!manner) return undefined;
  const nets = new Set(windings.flatMap((one) => one.nets).flatMap((net) => netsWith(circuit, net)));
  const selectors = [...new Set([...nets].flatMap((net) => partsOn(circuit, net)))].filter(
    (part) => part.kind === "switch" && part.duty !== "mains",
  );
  const names = listed(selectors.map(({ reference }) => reference));
  return {
    todo: names
      ? `Joined ${manner} they suit, and ${names} joins them so in no position: look at the net of each contact, and at the links between ${transformer.reference}'s windings.`
      : `Joined ${manner} they suit: look at the links between ${transformer.reference}'s windings.`,
  };
}

/** The mains between two taps of which neither is the winding's beginning, where others would suit. */
function betweenTaps(
  circuit: Circuit,
  side: MainsSide,
  { label, winding, windings }: Primary,
  volts: number,
  suits: (volts: number) => boolean,
): Cause | undefined {
  const { nets } = winding;
  if (windings.length > 1 || nets.length < 3) return undefined;
  const [active, neutral] = [side.active, side.neutral].map((from) => {
    const reached = side.positions.map((positions) => reach(side, from, { positions }));
    return nets.flatMap((net, tap) => (reached.some((one) => one.has(net)) ? [tap] : []));
  });
  if (active.length !== 1 || neutral.length !== 1) return undefined;
  const named = (tap: number) =>
    `${quantity(between(winding, 0, tap), "V")} (${netName(circuit, nets[tap])})`;
  const [a, n] = [active[0], neutral[0]];
  const better = nets.flatMap((_, tap) =>
    [
      { moved: n, kept: a, to: tap },
      { moved: a, kept: n, to: tap },
    ].filter(({ kept, to }) => to !== a && to !== n && suits(between(winding, kept, to))),
  );
  if (better.length === 0) return undefined;
  const [{ moved, to }] = better;
  const beginning = Math.min(a, n) === 0;
  return {
    says: beginning
      ? undefined
      : `The mains stands between the taps of ${named(Math.min(a, n))} and ${named(Math.max(a, n))} of ${label}, ${quantity(volts, "V")} of its turns`,
    todo: `The lead on ${netName(circuit, nets[moved])} belongs on the tap of ${named(to)}.`,
  };
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
