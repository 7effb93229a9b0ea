/**
 * Nodes that reservoirs hold still against ripple, and how much what leads on from one moves it: whether the next is to be looked
 * at together with it.
 */
import { reservoirFarads } from "../../facts/supply.ts";
import type { CircuitElements, Element, Inductance, Resistance } from "./elements.ts";

/** Resistance into a second reservoir, as a part of that reservoir's reactance at twice the mains: closer ones share the ripple. */
const closeFilter = 12;
/** A choke that takes a larger part of a reservoir's capacitance at the ripple's frequency shares its ripple. */
const closeChoke = 0.02;
/** The same of a resistor that lends a larger part of the next reservoir; what it lends is left out below the least. */
const closeLent = 0.05;
const leastLent = 0.005;
/** Far above resonance, as a filter should be; nearer to it the straight picture is the safer one. */
const mostTaken = 0.1;

export class Held {
  /** Farads to common or to another held node, by node. */
  private readonly farads: ReadonlyMap<number, number>;
  /** Fundamental of the ripple, by the mains': once or twice. */
  private readonly orders: Map<number, number>;

  constructor(
    all: CircuitElements,
    private readonly hertz: number,
  ) {
    this.farads = heldNodes(all);
    this.orders = rippleOrders(all, this.farads);
  }

  has(node: number): boolean {
    return this.farads.has(node);
  }

  private omega(node: number): number {
    return (this.orders.get(node) ?? 2) * 2 * Math.PI * this.hertz;
  }

  /** Whether the reservoir behind a choke or a resistor moves that before it so much that both are to be looked at together. */
  isClose(e: Element, from: number): boolean {
    if (e.kind !== "choke" && e.kind !== "resistance") return false;
    const own = this.farads.get(from);
    const behind = this.farads.get(e.a === from ? e.b : e.a);
    if (own === undefined || behind === undefined) return false;
    const omega = this.omega(from);
    if (e.kind === "choke") return Math.abs(taken(e, omega, behind)) > closeChoke * own;
    if (e.as !== "resistor") return false;
    return (
      e.ohms * 4 * Math.PI * this.hertz * behind < closeFilter || lent(e, omega, behind) > closeLent * own
    );
  }

  /** Ripple that comes over a close filter has the frequency of that before it. */
  passOn(from: number, to: number): void {
    if (!this.orders.has(to)) this.orders.set(to, this.orders.get(from) ?? 2);
  }

  /** Farads that an element which leads on takes from the reservoir it leads on from; negative where it lends some. */
  takenBy(e: Inductance | Resistance, from: number, to: number): number {
    const own = this.farads.get(from) ?? 0;
    const behind = this.farads.get(to);
    if (e.kind === "choke") {
      const less = taken(e, this.omega(from), behind);
      return less > 0 && less < mostTaken * own ? less : 0;
    }
    // The next reservoir is not quite still.
    if (behind === undefined || to < 0) return 0;
    const more = lent(e, this.omega(from), behind);
    return more > leastLent * own && more < mostTaken * own ? -more : 0;
  }
}

/** What a choke takes from the reservoir before it, as so much less capacitance; negative where it lends to it. */
function taken({ henries }: Inductance, omega: number, behind: number | undefined): number {
  return 1 / (omega * (omega * henries - (behind === undefined ? 0 : 1 / (omega * behind))));
}

/** What a resistor lends to the reservoir before it of the one behind. */
function lent({ ohms }: Resistance, omega: number, behind: number): number {
  return behind / (1 + (omega * ohms * behind) ** 2);
}

/** Fundamental of the ripple where rectifiers feed a reservoir, by the mains': once behind a single one, else twice. */
function rippleOrders(all: CircuitElements, held: ReadonlyMap<number, number>): Map<number, number> {
  const feeding = new Map<number, number>();
  const feeds = (node: number, other: number) => {
    if (!held.has(node)) return;
    const before = feeding.get(node);
    feeding.set(node, before === undefined || before === other ? other : several);
  };
  for (const e of all.elements) {
    if (e.kind !== "rectifier") continue;
    feeds(e.a, e.b);
    feeds(e.b, e.a);
  }
  const orders = new Map<number, number>();
  for (const [node, other] of feeding) orders.set(node, other === several ? 2 : 1);
  return orders;
}
const several = -2;

/** Nodes that a reservoir holds: capacitance to common or to another held node, farads by node. */
function heldNodes(all: CircuitElements): ReadonlyMap<number, number> {
  const held = new Map<number, number>();
  const sums = new Map<number, number>();
  const add = (from: number, to: number, own: number) => {
    const behind = to < 0 ? Number.POSITIVE_INFINITY : held.get(to);
    // In series with what holds the other end.
    if (from >= 0 && behind !== undefined) sums.set(from, (sums.get(from) ?? 0) + 1 / (1 / own + 1 / behind));
  };
  for (let changed = true; changed; ) {
    changed = false;
    sums.clear();
    for (const e of all.elements) {
      if (e.kind !== "capacitor" || e.a === e.b) continue;
      add(e.a, e.b, e.farads);
      add(e.b, e.a, e.farads);
    }
    for (const [node, sum] of sums) {
      if (sum >= reservoirFarads && !held.has(node)) {
        held.set(node, sum);
        changed = true;
      }
    }
  }
  return held;
}
