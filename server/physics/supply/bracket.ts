/** Two states with the steady one between them. */

/** A bracket that holds a steady state has it by then. */
const mostRounds = 12;

/**
 * Once Newton has been seen to leap over the steady state to and fro (from a charge that only a leakage takes away to one that a
 * rectifier makes good within a cycle): regula falsi on what a cycle misses along the step, the Illinois way, where the end that stays
 * counts for half.
 */
export class Bracket {
  private side = 0;
  private rounds = 0;

  /**
   * @param a       a start, and `fa`: what its cycle misses along the step; positive
   * @param b       another, and `fb`: negative
   * @param best    the least that any cycle has missed so far
   */
  constructor(
    private readonly a: Float64Array,
    private fa: number,
    private readonly b: Float64Array,
    private fb: number,
    readonly best: number,
  ) {}

  /** Count a round. @returns whether the steady state ought to have been found by now: it does not lie between the two */
  tooLong(): boolean {
    return ++this.rounds > mostRounds;
  }

  /** Take in what was missing at a start between the two. */
  tighten(start: Float64Array, missing: number): void {
    if (missing > 0) {
      this.a.set(start);
      this.fa = missing;
      if (this.side > 0) this.fb *= 0.5;
      this.side = 1;
    } else {
      this.b.set(start);
      this.fb = missing;
      if (this.side < 0) this.fa *= 0.5;
      this.side = -1;
    }
  }

  /** The start to look at next. */
  next(into: Float64Array): void {
    const part = Math.min(0.98, Math.max(0.02, this.fa / (this.fa - this.fb)));
    for (let k = 0; k < into.length; k++) into[k] = this.a[k] + part * (this.b[k] - this.a[k]);
  }
}
