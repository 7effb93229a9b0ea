/**
 * Circuits that are one and the same to the physics: only their ratings, their places in the text, their readings and waivers may
 * differ. What has been solved for one holds for the other, so that a rating typed anew costs no solution.
 */
import type { Circuit, Part, PartKind } from "../circuit/model.ts";
import type { Analysis } from "./results.ts";

/** Facts that no solution depends on, by kind: what a part stands, not what it does. */
export const ratingFacts: Readonly<Partial<Record<PartKind, readonly string[]>>> = {
  resistor: ["watts", "volts", "material"],
  pot: ["watts", "volts"],
  capacitor: ["volts", "voltsAlternating", "surgeVolts", "rippleAmps", "safetyClass"],
  thermistor: ["amps"],
  choke: ["amps"],
  diode: ["volts", "amps"],
  bridge: ["volts", "amps"],
  fuse: ["volts", "breaking", "character"],
  switch: ["volts", "voltsDirect", "amps"],
  wire: ["volts", "colour", "cloth"],
  speaker: ["watts"],
  "output-transformer": ["watts"],
};

/** Fields that say where something is written, whatever it is of. */
const written = new Set([
  "place",
  "places",
  "referencePlace",
  "factPlaces",
  "terminalPlaces",
  "netPlaces",
  "electrodePlaces",
]);

const none: ReadonlySet<string> = new Set();
const ratings = new Map(Object.entries(ratingFacts).map(([kind, facts]) => [kind, new Set(facts)]));

const keys = new WeakMap<Circuit, string>();

/** Everything of a circuit that a solution depends on, in one string; found once for each. */
export function physicsKey(circuit: Circuit): string {
  let key = keys.get(circuit);
  if (key === undefined) {
    const out: string[] = [];
    const { mains, assumptions, nets, ground, chassis, metals } = circuit;
    put(mains, none, out);
    put(assumptions.valveSpread, none, out);
    for (const net of nets) out.push(net.name);
    put([ground ?? -1, chassis ?? -1, metals], none, out);
    for (const part of circuit.parts) put(part, ratings.get(part.kind) ?? none, out);
    key = out.join("\n");
    keys.set(circuit, key);
  }
  return key;
}

/** A value and all that it holds, but for the fields of its own that are left out, and for places. */
function put(value: unknown, without: ReadonlySet<string>, out: string[]): void {
  if (typeof value !== "object" || value === null) out.push(`${typeof value} ${value}`);
  else if (value instanceof Map) {
    out.push("(");
    for (const [key, of] of value) {
      out.push(String(key));
      put(of, none, out);
    }
    out.push(")");
  } else if (Array.isArray(value)) {
    out.push("[");
    for (const of of value) put(of, none, out);
    out.push("]");
  } else {
    out.push("{");
    const fields = value as Readonly<Record<string, unknown>>;
    for (const field in fields) {
      if (written.has(field) || without.has(field)) continue;
      out.push(field);
      put(fields[field], none, out);
    }
    out.push("}");
  }
}

/** The analysis that another's circuit was solved by, where it is one that was taken over. */
const origins = new WeakMap<Analysis, Analysis>();

/** The analysis that did the solving, itself where it was not taken over: the key of what rests on solutions alone. */
export function solvedAs(analysis: Analysis): Analysis {
  return origins.get(analysis) ?? analysis;
}

/**
 * @param known an analysis of another circuit
 * @returns the same for this circuit, nothing solved anew; undefined where the physics may tell the two apart
 */
export function takenOver(known: Analysis, circuit: Circuit): Analysis | undefined {
  const origin = solvedAs(known);
  if (origin.circuit.book !== circuit.book || physicsKey(origin.circuit) !== physicsKey(circuit))
    return undefined;
  return over(origin, circuit);
}

function over(origin: Analysis, circuit: Circuit | (() => Circuit)): Analysis {
  const turned = new Map<Analysis, Analysis>();
  let own = typeof circuit === "function" ? undefined : circuit;
  const analysis: Analysis = Object.create(origin, {
    circuit: {
      enumerable: true,
      get: (): Circuit => {
        own ??= (circuit as () => Circuit)();
        return own;
      },
    },
    atSettings: {
      value: (settings: ReadonlyMap<string, number>): Analysis => {
        const other = origin.atSettings(settings);
        let found = turned.get(other);
        if (!found) {
          found = over(other, () => withParts(analysis.circuit, other.circuit));
          turned.set(other, found);
        }
        return found;
      },
    },
  });
  origins.set(analysis, origin);
  return analysis;
}

/** This circuit's parts, with the settings of another's pots. */
function withParts(circuit: Circuit, other: Circuit): Circuit {
  const parts = circuit.parts.map((part): Part => {
    const like = other.partByReference.get(part.reference);
    if (part.kind !== "pot" || like?.kind !== "pot" || like.setting.value === part.setting.value) return part;
    return { ...part, setting: { ...part.setting, value: like.setting.value } };
  });
  return { ...circuit, parts, partByReference: new Map(parts.map((part) => [part.reference, part])) };
}
