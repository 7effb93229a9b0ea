/**
 * Everything in a circuit that a supply island may be made of, as two-ended elements between topology nodes. Nothing is chosen
 * here: `grow.ts` decides what belongs to an island.
 */
import type { Circuit, Part, Valve, Winding } from "../../circuit/model.ts";
import { zenerSlope } from "../../facts/lamps.ts";
import {
  estimateSpread,
  junctionSpread,
  rectifierLeakage,
  rectifierSpread,
  windingFactor,
  windingSpread,
} from "../../facts/supply.ts";
import { bookOf } from "../../facts/valves/book.ts";
import type { ValveFacts } from "../../facts/valves/index.ts";
import type { DiodeLaw } from "../device.ts";
import { perveanceLaw, rectifierLaw, semiconductorLaw, zenerLaw } from "../laws/index.ts";
import { mainsWindings } from "../mains-windings.ts";
import { carriesSignal } from "../signal-transformers.ts";
import { isIdeal, potShare, type Topology } from "../topology.ts";
import { type WoundTransformer, woundTransformer } from "./windings.ts";

interface Ends {
  /** Key of its readings. */
  readonly key: string;
  readonly reference: string;
  readonly a: number;
  readonly b: number;
  /** Nets as wired; -1 where it has none of its own. */
  readonly netA: number;
  readonly netB: number;
}

export interface Resistance extends Ends {
  readonly kind: "resistance";
  readonly ohms: number;
  readonly tolerance: number;
  /** What it is: for readings. */
  readonly as: "resistor" | "heater" | "lamp";
}
export interface Capacitance extends Ends {
  readonly kind: "capacitor";
  readonly farads: number;
  readonly tolerance: number;
}
export interface Inductance extends Ends {
  readonly kind: "choke";
  readonly henries: number;
  readonly ohms: number;
  readonly tolerance: number;
  readonly estimated: boolean;
}
/** A rectifying element, anode first. */
export interface Rectifying extends Ends {
  readonly kind: "rectifier";
  readonly law: DiodeLaw;
  readonly knee: number;
  /** It conducts in reverse too, past some volts. */
  readonly zener: boolean;
  /** An indirectly heated plate: nothing while its cathode is cold. */
  readonly indirect: boolean;
  readonly valve: boolean;
  readonly leak: number;
  readonly spread: number;
  /** A law with its current at given volts times `current`, and its volts times `volts`: for tolerances. */
  readonly estimated?: string;
}
export interface WindingSegment extends Ends {
  readonly kind: "winding";
  readonly transformer: WoundTransformer;
  readonly winding: Winding;
  readonly windingKey: string;
  readonly primary: boolean;
  readonly turns: number;
  readonly ohms: number;
  readonly spread: number;
  readonly estimated: boolean;
}
export interface DirectSource extends Ends {
  readonly kind: "source";
  readonly volts: number;
  readonly ohms: number;
}
/** A neon lamp: open. */
export interface Open extends Ends {
  readonly kind: "open";
}
export type Element =
  | Resistance
  | Capacitance
  | Inductance
  | Rectifying
  | WindingSegment
  | DirectSource
  | Open;

export interface CircuitElements {
  readonly elements: readonly Element[];
  /** Elements of each part. */
  readonly byPart: ReadonlyMap<string, readonly Element[]>;
  /** Elements at each node + 1. */
  readonly at: readonly (readonly Element[])[];
  readonly transformers: readonly WoundTransformer[];
  /** References of rectifier valves whose law had to be guessed. */
  readonly estimates: readonly string[];
}

/** An element from its ends, which are used up: two object literals put together by spreading cost ten times as much. */
function between<E extends Element>(at: Ends, own: Omit<E, keyof Ends>): E {
  return Object.assign(at, own) as unknown as E;
}

/** Volts at which silicon begins to conduct, for the mesh. */
const siliconKnee = 0.5;

function junction(at: Ends, law: DiodeLaw, zener: boolean): Rectifying {
  return between<Rectifying>(at, {
    kind: "rectifier",
    law,
    knee: siliconKnee,
    zener,
    indirect: false,
    valve: false,
    leak: rectifierLeakage,
    spread: junctionSpread.fraction,
  });
}

/** Laws of the rectifying elements; tests may hand in their own. */
export interface RectifierLaws {
  readonly rectifier: (type: string) => DiodeLaw | undefined;
  readonly semiconductor: (type?: string, ratedAmps?: number) => DiodeLaw;
}

export const publishedRectifiers: RectifierLaws = {
  rectifier: rectifierLaw,
  semiconductor: semiconductorLaw,
};

export function circuitElements(
  circuit: Circuit,
  topology: Topology,
  laws: RectifierLaws = publishedRectifiers,
): CircuitElements {
  const elements: Element[] = [];
  const byPart = new Map<string, Element[]>();
  const transformers: WoundTransformer[] = [];
  const estimates: string[] = [];
  const node = (net: number) => topology.node[net];
  const add = (element: Element) => {
    elements.push(element);
    const own = byPart.get(element.reference);
    if (own) own.push(element);
    else byPart.set(element.reference, [element]);
  };
  const ends = (reference: string, key: string, netA: number, netB: number): Ends => ({
    reference,
    key,
    netA,
    netB,
    a: node(netA),
    b: node(netB),
  });
  const two = (part: Part, first: string, second: string, key = part.reference): Ends | undefined => {
    const a = part.terminals.get(first);
    const b = part.terminals.get(second);
    return a === undefined || b === undefined ? undefined : ends(part.reference, key, a, b);
  };
  const resistance = (
    at: Ends | undefined,
    ohms: number,
    tolerance: number,
    as: Resistance["as"] = "resistor",
  ) => {
    if (!at || isIdeal(ohms)) return;
    if (!Number.isFinite(1 / ohms)) add(between<Open>(at, { kind: "open" }));
    else add(between<Resistance>(at, { kind: "resistance", ohms, tolerance, as }));
  };
  const diode = (at: Ends | undefined, law: DiodeLaw) => {
    if (!at) return;
    add(junction(at, law, false));
  };

  // Windings first: heaters look for the volts across them.
  const windingVolts = new Map<string, number>();
  for (const part of circuit.parts) {
    if (part.kind !== "transformer" || carriesSignal(circuit, part)) continue;
    for (const winding of [...(part.primary ? [part.primary] : []), ...part.secondaries]) {
      for (let i = 0; i < winding.nets.length; i++) {
        let volts = 0;
        for (let j = i + 1; j < winding.nets.length; j++) {
          volts += Math.abs(winding.segmentVolts[j - 1] ?? 0);
          const a = node(winding.nets[i]);
          const b = node(winding.nets[j]);
          windingVolts.set(`${Math.min(a, b)} ${Math.max(a, b)}`, volts);
        }
      }
    }
  }
  const heater = (valve: Valve, facts: ValveFacts | undefined) => {
    if (!valve.heater || !facts) return;
    const { nets, wiring } = valve.heater;
    const a = node(nets[0]);
    const b = node(nets[1]);
    const offered = facts.heater;
    let chosen = offered.find((arrangement) => arrangement.name === wiring);
    if (!chosen && offered.length > 0) {
      const volts = windingVolts.get(`${Math.min(a, b)} ${Math.max(a, b)}`);
      chosen = offered[0];
      if (volts) {
        const off = (nominal: number) => Math.abs(Math.log(volts / nominal));
        for (const arrangement of offered)
          if (off(arrangement.volts) < off(chosen.volts)) chosen = arrangement;
      }
    }
    if (chosen && chosen.amps > 0) {
      resistance(
        ends(valve.reference, `${valve.reference}.heater`, nets[0], nets[1]),
        chosen.volts / chosen.amps,
        0,
        "heater",
      );
    }
  };

  for (const part of circuit.parts) {
    switch (part.kind) {
      case "resistor":
        resistance(two(part, "a", "b"), part.ohms.value, part.tolerance.value);
        break;
      case "thermistor":
        resistance(two(part, "a", "b"), (part.hotOhms ?? part.ohms).value, part.tolerance.value);
        break;
      case "pot": {
        const wiper = part.terminals.get("wiper");
        const share = potShare(part.setting.value);
        const tolerance = part.tolerance.value;
        if (wiper === undefined) resistance(two(part, "top", "bottom"), part.ohms.value, tolerance);
        else {
          resistance(
            two(part, "top", "wiper", `${part.reference}.top`),
            part.ohms.value * (1 - share),
            tolerance,
          );
          resistance(
            two(part, "wiper", "bottom", `${part.reference}.bottom`),
            part.ohms.value * share,
            tolerance,
          );
        }
        break;
      }
      case "capacitor": {
        const at = part.polarised ? two(part, "plus", "minus") : two(part, "a", "b");
        const farads = part.farads.value;
        if (at && farads > 0)
          add(between<Capacitance>(at, { kind: "capacitor", farads, tolerance: part.tolerance.value }));
        break;
      }
      case "choke": {
        const at = two(part, "a", "b");
        const henries = part.henries.value;
        if (!at) break;
        if (henries > 0) {
          const ohms = Math.max(part.ohms.value, 0);
          const estimated = part.ohms.origin === "estimate";
          add(
            between<Inductance>(at, {
              kind: "choke",
              henries,
              ohms,
              tolerance: part.tolerance.value,
              estimated,
            }),
          );
        } else resistance(at, part.ohms.value, 0);
        break;
      }
      case "lamp": {
        const at = two(part, "a", "b");
        if (!at) break;
        const rated = part.volts?.value;
        const amps = part.amps?.value ?? (rated && part.watts ? part.watts.value / rated : undefined);
        if (part.neon || !rated || !amps) add(between<Open>(at, { kind: "open" }));
        else resistance(at, rated / amps, 0, "lamp");
        break;
      }
      case "diode":
        diode(two(part, "anode", "cathode"), laws.semiconductor(part.type, part.amps?.value));
        break;
      case "zener": {
        const at = two(part, "anode", "cathode");
        if (!at) break;
        const rated = part.volts.value;
        const slope =
          part.ohms?.value ??
          (zenerSlope.voltsShare * rated * rated) /
            (zenerSlope.wattsShare * (part.watts?.value ?? zenerSlope.watts));
        const law = zenerLaw(rated, slope);
        add(junction(at, law, true));
        break;
      }
      case "bridge": {
        const law = laws.semiconductor(part.type, part.amps?.value);
        const arms = [
          ["ac1", "plus"],
          ["ac2", "plus"],
          ["minus", "ac1"],
          ["minus", "ac2"],
        ] as const;
        arms.forEach(([anode, cathode], k) => {
          diode(two(part, anode, cathode, `${part.reference}.${k + 1}`), law);
        });
        break;
      }
      case "valve": {
        const facts = part.type === undefined ? undefined : bookOf(circuit).find(part.type);
        heater(part, facts);
        for (const section of part.sections) {
          const key = section.name === "" ? part.reference : `${part.reference}.${section.name}`;
          const cathode = section.electrodes.get("cathode");
          const plates = ["plate1", "plate2"].filter((name) => section.electrodes.has(name));
          if (cathode === undefined || (facts?.kind !== "rectifier" && plates.length === 0)) continue;
          let law = part.type === undefined ? undefined : laws.rectifier(part.type);
          let estimated: string | undefined;
          if (!law) {
            // 20 V at its rated current, or at 100 mA: the middle of indirectly heated types.
            law = perveanceLaw((facts?.limits.outputAmps ?? 0.1) / 20 ** 1.5);
            estimated = `${part.reference}: no drop is published for ${part.typeWritten}, so 20 V at full current is taken`;
            estimates.push(estimated);
          }
          for (const name of plates.length > 0 ? plates : ["plate"]) {
            const plate = section.electrodes.get(name);
            if (plate === undefined) continue;
            add(
              between<Rectifying>(ends(part.reference, `${key}.${name}`, plate, cathode), {
                kind: "rectifier",
                law,
                knee: 0,
                zener: false,
                indirect: facts?.heating !== "direct",
                valve: true,
                leak: rectifierLeakage,
                spread: rectifierSpread.fraction,
                estimated,
              }),
            );
          }
        }
        break;
      }
      case "source": {
        const at = two(part, "plus", "minus");
        if (at)
          add(
            between<DirectSource>(at, {
              kind: "source",
              volts: part.volts.value,
              ohms: Math.max(part.ohms.value, 0),
            }),
          );
        break;
      }
      case "transformer": {
        if (carriesSignal(circuit, part)) break;
        const wound = woundTransformer(
          part,
          (winding) => directFactor(circuit, topology, winding),
          mainsWindings(circuit).get(part),
        );
        transformers.push(wound);
        for (const { winding, primary, segments } of wound.windings) {
          const windingKey = `${part.reference}.${winding.name}`;
          const estimated = winding.ohms.origin === "estimate";
          const spread = estimated ? estimateSpread.fraction : windingSpread.fraction;
          segments.forEach(({ turns, ohms }, s) => {
            const at = ends(part.reference, `${windingKey}.${s + 1}`, winding.nets[s], winding.nets[s + 1]);
            const own = { transformer: wound, winding, windingKey, primary, turns, ohms, spread, estimated };
            add(between<WindingSegment>(at, Object.assign({ kind: "winding" as const }, own)));
          });
        }
        break;
      }
      default:
        break;
    }
  }

  const at: Element[][] = Array.from({ length: topology.nodeCount + 1 }, () => []);
  for (const element of elements) {
    at[element.a + 1].push(element);
    if (element.b !== element.a) at[element.b + 1].push(element);
  }
  return {
    elements,
    byPart,
    at,
    transformers,
    estimates,
  };
}

/**
 * rms amperes of a winding for one ampere of direct current, by what it feeds: the published factors of
 * `facts/supply.ts`. Centre-tapped: of one half.
 */
function directFactor(circuit: Circuit, topology: Topology, winding: Winding): number {
  if (winding.nets.length > 2) return windingFactor.centreTapped.value;
  const start = topology.node[winding.nets[0]];
  const end = topology.node[winding.nets[winding.nets.length - 1]];
  const onRectifiers = (node: number) => {
    let anodes = 0;
    let cathodes = 0;
    for (const part of circuit.parts) {
      const at = (name: string) => {
        const net = part.terminals.get(name);
        return net !== undefined && topology.node[net] === node;
      };
      if (part.kind === "bridge" && (at("ac1") || at("ac2"))) {
        anodes++;
        cathodes++;
      } else if (part.kind === "diode") {
        if (at("anode")) anodes++;
        if (at("cathode")) cathodes++;
      } else if (part.kind === "valve") {
        for (const section of part.sections) {
          for (const name of ["plate1", "plate2"]) {
            const net = section.electrodes.get(name);
            if (net !== undefined && topology.node[net] === node) anodes++;
          }
        }
      }
    }
    return { anodes, cathodes };
  };
  const s = onRectifiers(start);
  const e = onRectifiers(end);
  const bothWays = (n: { anodes: number; cathodes: number }) => n.anodes > 0 && n.cathodes > 0;
  if (bothWays(s) && bothWays(e)) return windingFactor.bridge.value;
  if (bothWays(s) || bothWays(e)) return windingFactor.doubler.value;
  return windingFactor.halfWave.value;
}
