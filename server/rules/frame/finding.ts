/** Findings from their parts, so that each rule says only what is its own. */
import type { Circuit, MainsLevel, NetIndex, Part, Place } from "../../circuit/model.ts";
import type { StateName } from "../../physics/results.ts";
import type { Finding, Fix, Related, Rule, Severity } from "../rule.ts";

export interface FindingInput {
  readonly message: string;
  readonly on: string | readonly string[];
  readonly place: Place;
  /** The rule's own where left out. */
  readonly severity?: Severity;
  readonly related?: readonly (Related | undefined)[];
  readonly state?: StateName;
  readonly mains?: MainsLevel;
  readonly value?: number;
  readonly limit?: number;
  readonly unit?: string;
  readonly source?: string;
  readonly fix?: Fix;
}

/** A finding of a rule; its source is the rule's unless told. */
export function finding(rule: Pick<Rule, "id" | "severity" | "source">, input: FindingInput): Finding {
  const on = typeof input.on === "string" ? [input.on] : [...new Set(input.on)];
  const seen = new Set<string>();
  const related = (input.related ?? []).filter((entry): entry is Related => {
    if (!entry) return false;
    const key = `${entry.place.file}:${entry.place.range.start}:${entry.message}`;
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
  return {
    rule: rule.id,
    severity: input.severity ?? rule.severity,
    message: input.message,
    on,
    place: input.place,
    related,
    state: input.state,
    mains: input.mains,
    value: input.value,
    limit: input.limit,
    unit: input.unit,
    source: input.source ?? rule.source,
    fix: input.fix,
  };
}

/** A related place: a part's statement, with what it has to do with the finding. */
export function relatedPart(part: Part | undefined, message: string): Related | undefined {
  return part && { on: part.reference, message, place: part.place };
}

/** A related place: the first mention of a net. */
export function relatedNet(
  circuit: Circuit,
  net: NetIndex | undefined,
  message: string,
): Related | undefined {
  const found = net === undefined ? undefined : circuit.nets[net];
  const place = found?.mentions[0];
  return found && place && { on: found.name, message, place };
}

/** Where a fact of a part was written, or the part's reference where it was not. */
export function factPlace(part: Part, ...names: readonly string[]): Place {
  for (const name of names) {
    const place = part.factPlaces.get(name);
    if (place) return place;
  }
  return part.referencePlace;
}

/** The net's name; `gnd` for circuit common. */
export function netName(circuit: Circuit, net: NetIndex): string {
  return circuit.nets[net]?.name ?? "?";
}
