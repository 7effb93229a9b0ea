/** A published figure with where it comes from. Shared by every file of figures. */

/** `seen`: read in a copy of the source; `memory`: recalled from it; `practice`: workshop custom; `computed`: arithmetic. */
export type Evidence = "seen" | "memory" | "practice" | "computed";

export interface Sourced {
  /** Publication and clause, or "common practice". Names no maker unless it is the publisher of the sheet. */
  readonly source: string;
  readonly evidence: Evidence;
}

/** One number in SI units. */
export interface Figure extends Sourced {
  readonly value: number;
}

/** A published table: pairs of argument and value, rising arguments. */
export interface Table extends Sourced {
  readonly rows: readonly (readonly [number, number])[];
}
