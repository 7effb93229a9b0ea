/**
 * Circuits that are one and the same to the physics: only their ratings, their places in the text, their readings and waivers may
 * differ. What has been solved for one holds for the other, so that a rating typed anew costs no solution.
 */
import type { Circuit, MainsLevel, Part, PartKind } from "../circuit/model.ts";
import type { Analysis, DriveResult, Solution, StateName, Unsolvable } from "./results.ts";

/** Facts that no solution depends on, by kind: what a part stands, not what it does. */
export const ratingFacts: Readonly<Partial<Record<PartKind, readonly string[]>>> = {
  resistor: ["watts", "volts", "material"],
  pot: ["watts", "volts"],
  capacitor: ["volts", "voltsAlternating", "surgeVolts", "rippleAmps", "safetyClass"],
  thermistor: ["amps"],
  choke: ["amps"],
  // Their current is that of the chip, which drops the less the larger it is.
  diode: ["volts"],
  bridge: ["volts"],
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

/** True where everything that a solution depends on is the same in both, to the last figure. */
export function samePhysics(a: Circuit, b: Circuit): boolean {
  if (a === b) return true;
  if (a.book !== b.book || a.parts.length !== b.parts.length || a.nets.length !== b.nets.length) return false;
  if (a.ground !== b.ground || a.chassis !== b.chassis) return false;
  if (!same(a.mains, b.mains, none) || !same(a.assumptions.valveSpread, b.assumptions.valveSpread, none))
    return false;
  for (let k = 0; k < a.nets.length; k++) if (a.nets[k].name !== b.nets[k].name) return false;
  if (!same(a.metals, b.metals, none)) return false;
  for (let k = 0; k < a.parts.length; k++) {
    const part = a.parts[k];
    if (!same(part, b.parts[k], ratings.get(part.kind) ?? none)) return false;
  }
  return true;
}

/** Two values and all that they hold, but for the fields of their own that are left out, and for places. */
function same(a: unknown, b: unknown, without: ReadonlySet<string>): boolean {
  if (a === b) return true;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null)
    return Number.isNaN(a) && Number.isNaN(b);
  if (a instanceof Map) {
    if (!(b instanceof Map) || a.size !== b.size) return false;
    const others = b.entries();
    for (const [key, value] of a) {
      const [otherKey, other] = others.next().value as [unknown, unknown];
      if (key !== otherKey || !same(value, other, none)) return false;
    }
    return true;
  }
  if (Array.isArray(a)) {
    if (!Array.isArray(b) || a.length !== b.length) return false;
    for (let k = 0; k < a.length; k++) if (!same(a[k], b[k], none)) return false;
    return true;
  }
  if (Array.isArray(b) || b instanceof Map) return false;
  const one = a as Readonly<Record<string, unknown>>;
  const other = b as Readonly<Record<string, unknown>>;
  for (const field in one) {
    if (written.has(field) || without.has(field)) continue;
    if (!same(one[field], other[field], none)) return false;
  }
  // What the one leaves out the other may not have.
  for (const field in other) {
    if (one[field] === undefined && other[field] !== undefined && !written.has(field) && !without.has(field))
      return false;
  }
  return true;
}

/** The analysis that did the solving, itself where it was not taken over: the key of what rests on solutions alone. */
export function solvedAs(analysis: Analysis): Analysis {
  return analysis instanceof TakenOver ? analysis.origin : analysis;
}

/**
 * @param known an analysis of another circuit
 * @returns the same for this circuit, nothing solved anew; undefined where the physics may tell the two apart
 */
export function takenOver(known: Analysis, circuit: Circuit): Analysis | undefined {
  const origin = solvedAs(known);
  return samePhysics(origin.circuit, circuit) ? new TakenOver(origin, circuit) : undefined;
}

/** What `origin` solved, of a circuit that physics does not tell from its own. */
class TakenOver implements Analysis {
  private readonly turned = new Map<Analysis, Analysis>();
  constructor(
    readonly origin: Analysis,
    private own: Circuit | (() => Circuit),
  ) {}
  get circuit(): Circuit {
    if (typeof this.own === "function") this.own = this.own();
    return this.own;
  }
  atSettings(settings: ReadonlyMap<string, number>): Analysis {
    const other = this.origin.atSettings(settings);
    let found = this.turned.get(other);
    if (!found) {
      found = new TakenOver(other, () => withParts(this.circuit, other.circuit));
      this.turned.set(other, found);
    }
    return found;
  }
  get states() {
    return this.origin.states;
  }
  solution(state: StateName, level: MainsLevel): Solution | undefined {
    return this.origin.solution(state, level);
  }
  get discharge() {
    return this.origin.discharge;
  }
  drive(level: MainsLevel): readonly DriveResult[] {
    return this.origin.drive(level);
  }
  unlit(state: StateName): ReadonlySet<string> {
    return this.origin.unlit(state);
  }
  stillWarm(level: MainsLevel): Solution | undefined {
    return this.origin.stillWarm(level);
  }
  unsolved(): Unsolvable | undefined {
    const found = this.origin.unsolved();
    if (!found) return undefined;
    const own = (analysis: Analysis): Analysis =>
      new TakenOver(analysis, () => withPartsOf(this.circuit, analysis.circuit));
    return { blind: own(found.blind), rest: own(found.rest), guesses: found.guesses.map(own) };
  }
  everything() {
    return this.origin.everything();
  }
  get hotSwitch() {
    return this.origin.hotSwitch;
  }
}

/** This circuit, without what another hasn't got. */
function withPartsOf(circuit: Circuit, other: Circuit): Circuit {
  if (other.parts.length === circuit.parts.length) return circuit;
  const parts = circuit.parts.filter(({ reference }) => other.partByReference.has(reference));
  return { ...circuit, parts, partByReference: new Map(parts.map((part) => [part.reference, part])) };
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
