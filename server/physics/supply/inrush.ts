/**
 * The first cycles of a supply whose rectifiers are hot and whose reservoirs are empty, followed in time. Where a choke stands before the
 * reservoir nothing flows at the first instant: the peak comes later, as choke and reservoir swing.
 */
import { reservoirFarads } from "../../facts/supply.ts";
import { doubles } from "../linear/slabs.ts";
import type { CircuitElements, Element } from "./elements.ts";
import type { IslandPlan } from "./grow.ts";
import type { Multiport } from "./multiport.ts";
import { type Heating, islandNetwork } from "./network.ts";
import { reservoirsAlone } from "./reservoirs.ts";
import { Sweep } from "./sweep.ts";

/** What the steady state says of the circuit around a supply. */
export interface Around {
  readonly volts: (node: number) => number;
  /** Amperes that the supply gives at a node of its boundary. */
  readonly given: (node: number) => number;
}

/** Instants at which the switch may close, over a cycle. */
const PHASES = 8;
/** Steps of a cycle; the tests hold what comes of them against an independent integration. */
const STEPS = 100;
/** Followed until so many cycles have brought no higher peak, and no further than so many. */
const PAST = 2;
const MOST = 60;

/**
 * Whether a rectifier's current goes on through a choke: then most of the volts that it raises before it stand across one.
 * @param net     with reservoirs alone
 * @param henries of its chokes
 */
export function behindChoke(net: Multiport, henries: readonly number[], port: number): boolean {
  const { np, E, Z, chargeStates } = net;
  return henries.some(
    (own, k) => Math.abs(E[(chargeStates + k) * np + port] * own) > 0.5 * Math.abs(Z[port * np + port]),
  );
}

/** Highest amperes of each port, whenever the switch closes. */
export function inrush(
  plan: IslandPlan,
  heating: Heating,
  all: CircuitElements,
  around: Around,
  mains: { readonly crest: number; readonly hertz: number },
): Float64Array {
  const whole = islandNetwork(withReservoirs(plan, all, around), heating);
  const { ports } = whole;
  const net = reservoirsAlone(whole);
  const period = 1 / mains.hertz;
  const sweep = new Sweep(net, ports, [], period);
  const none = doubles(net.nu - 2);
  const peaks = doubles(ports.length);
  const state = doubles(net.nx);
  for (let phase = 0; phase < PHASES; phase++) {
    sweep.lay([{ start: (phase / PHASES) * period, step: period / STEPS, count: STEPS }]);
    state.fill(0);
    const own = doubles(ports.length);
    let since = 0;
    for (let cycle = 0; cycle < MOST && since < PAST; cycle++) {
      sweep.run(state, mains.crest, none, false);
      state.set(sweep.end);
      since++;
      const { i, steps } = sweep;
      for (let k = 0; k < 2 * steps * ports.length; k++) {
        const port = k % ports.length;
        if (!(i[k] > own[port])) continue;
        // What rounds up to the steady state from below is no later peak.
        if (i[k] > own[port] * (1 + 1e-4)) since = 0;
        own[port] = i[k];
      }
    }
    for (let port = 0; port < ports.length; port++) peaks[port] = Math.max(peaks[port], own[port]);
  }
  return peaks;
}

/**
 * A supply together with the filter that it leads on to, whose reservoirs are empty too; what else hangs on either draws as much for
 * its volts as in the steady state.
 */
function withReservoirs(plan: IslandPlan, all: CircuitElements, around: Around): IslandPlan {
  const held = new Set<number>([-1]);
  for (const e of all.elements) {
    if (e.kind !== "capacitor" || e.farads < reservoirFarads) continue;
    if (e.a < 0) held.add(e.b);
    else if (e.b < 0) held.add(e.a);
  }
  const inside = new Set<Element>(plan.elements);
  const nodes = new Set<number>(plan.nodes);
  const further: Element[] = [];
  const load = new Map<number, number>();
  const front: number[] = [];
  for (const { node } of plan.boundary) {
    load.set(node, around.given(node));
    front.push(node);
  }
  for (let head = 0; head < front.length; head++) {
    const from = front[head];
    for (const e of all.at[from + 1]) {
      if (inside.has(e) || e.a === e.b) continue;
      const other = e.a === from ? e.b : e.a;
      if (e.kind === "capacitor" && e.farads >= reservoirFarads && (other < 0 || nodes.has(other))) {
        inside.add(e);
        further.push(e);
      } else if ((e.kind === "choke" || (e.kind === "resistance" && e.as === "resistor")) && other >= 0) {
        if (!held.has(other)) continue;
        inside.add(e);
        further.push(e);
        const amps = (around.volts(from) - around.volts(other)) / Math.max(e.ohms, 1e-3);
        if (!nodes.has(other)) {
          nodes.add(other);
          load.set(other, 0);
          front.push(other);
        }
        load.set(from, (load.get(from) ?? 0) - amps);
        load.set(other, (load.get(other) ?? 0) + amps);
      }
    }
  }
  const boundary = [...load].map(([node, amps]) => {
    const siemens = amps / around.volts(node);
    return { node, siemens: siemens > 0 && Number.isFinite(siemens) ? siemens : 0, farads: 0 };
  });
  return {
    nodes: [...nodes],
    elements: [...plan.elements, ...further],
    parts: plan.parts,
    heaters: plan.heaters,
    boundary,
    inner: plan.inner,
    shares: plan.shares,
    feeds: plan.feeds,
    bare: plan.bare,
    notes: plan.notes,
  };
}
