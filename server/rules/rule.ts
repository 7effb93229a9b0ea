/** What a rule is: data about itself, and one function from what happens to findings. */
import type { Circuit, MainsLevel, Place } from "../circuit/model.ts";
import type { OwnValves } from "../facts/valves/own.ts";
import type { Analysis, StateName } from "../physics/results.ts";

export type Severity = "error" | "warning" | "advice" | "unchecked";

export interface Related {
  readonly on: string;
  readonly message: string;
  readonly place: Place;
}

/** A change of text that removes a finding. Checked before it is offered. */
export interface Fix {
  readonly title: string;
  readonly edits: readonly { readonly place: Place; readonly text: string }[];
}

export interface Finding {
  readonly rule: string;
  readonly severity: Severity;
  /** What, how much, in which state, against which limit, by how much, what to do. */
  readonly message: string;
  /** References or nets concerned, the leading one first. */
  readonly on: readonly string[];
  readonly place: Place;
  readonly related: readonly Related[];
  readonly state?: StateName;
  readonly mains?: MainsLevel;
  readonly value?: number;
  readonly limit?: number;
  readonly unit?: string;
  /** Where the limit comes from. */
  readonly source?: string;
  readonly fix?: Fix;
  readonly waived?: { readonly reason: string; readonly until?: string };
  /** The rule whose finding leads this one: same cause, told there first. */
  readonly follows?: string;
  /** What the plates draw has no part in it: of a winding that feeds heaters alone. */
  readonly apart?: boolean;
}

/** One limit that was held against a number, for margin tables. SI units. */
export interface Margin {
  readonly on: string;
  readonly rule: string;
  readonly value: number;
  readonly limit: number;
  readonly unit: string;
  /** `below`: the limit is a least value. */
  readonly breach: "above" | "below";
  readonly state?: StateName;
  readonly mains?: MainsLevel;
  readonly source: string;
}

/** One limit that could not be held against anything, and why, as a noun phrase. */
export interface Unchecked {
  readonly on: string;
  readonly what: string;
  /** Left out: the file or the data does not say enough. */
  readonly because?: string;
}

export interface RuleContext {
  readonly circuit: Circuit;
  readonly analysis: Analysis;
  readonly options: CheckOptions;
  /** Count one limit that was held against a number, whatever came of it; with the numbers where there are any. */
  checked(on: string, margin?: Margin): void;
  /** Count one limit that could not be checked; told once per part by rating/unrated. `what` is a noun phrase. */
  unchecked(on: string, what: string, place: Place): void;
}

export interface CheckOptions {
  /** Today as ISO date, for waivers; the host's clock, never ours. */
  readonly today?: string;
  /** Margins of practice by family, fractions of the rating. */
  readonly margins?: Readonly<Record<string, number>>;
  /** Severity by rule id or family; `off` silences. */
  readonly severity?: Readonly<Record<string, Severity | "off">>;
  /** Mains region of a file whose mains line names none. */
  readonly region?: string;
  /** Air around the parts in degrees Celsius, for a file without `assume ambient`. */
  readonly ambient?: number;
  /** Valve types of the user's own, before the published ones. */
  readonly valves?: OwnValves;
}

export interface Rule {
  readonly id: string;
  readonly severity: Severity;
  /** The sentence that a technician would say. */
  readonly sentence: string;
  readonly why: string;
  /** Publication and clause, or "common practice", or "from memory: …". */
  readonly source: string;
  /** When it stays quiet, and why. */
  readonly quiet: string;
  /** Usual cautions, for mains, earth and high-voltage rules. */
  readonly caution?: string;
  /** Whole ampnet texts: `bad` gives this finding, `good` does not. */
  readonly bad: string;
  readonly good: string;
  /**
   * Findings, in any order; `undefined` is a stop, where others may have their turn: one for each part that is looked at keeps a
   * host quick on any text, and costs next to nothing.
   */
  check(context: RuleContext): Iterable<Finding | undefined>;
  /** Findings of other rules that have the same cause when this rule has found it: one cause, one finding. */
  readonly leads?: readonly Lead[];
}

export interface Lead {
  /** Rule id of the follower, or a family with a stroke (`rating/`). */
  readonly rule: string;
  /**
   * `part`: only where both findings name a part or net in common; `first`: only where the leader names what the follower is about,
   * its first, and not what it merely suspects; `any`: wherever it stands.
   */
  readonly sharing: "part" | "first" | "any";
  /** `attach`: the follower is taken out and told as a related place; `mark`: it stays, marked with its leader. */
  readonly manner: "attach" | "mark";
  /** The follower is led only as far as its leader explains it; always where left out. */
  readonly explains?: (leader: Finding, follower: Finding) => boolean;
}
