/**
 * Gives work out and takes results in, in any order, and hands them on in the order of the work. What is out of order is
 * held; no more work is given out than a window beyond the first result that is still missing, so that what is held is
 * bounded however slow that one is.
 */
export class Turns<T> {
  private readonly held = new Map<number, T>();
  private nextOut = 0;
  private nextIn = 0;
  private highest = 0;

  /**
   * @param count how many pieces of work there are
   * @param window how many may be out or held at a time
   * @param take is given each result in its turn
   */
  constructor(
    private readonly count: number,
    private readonly window: number,
    private readonly take: (result: T, index: number) => void,
  ) {}

  /** The index of the next piece of work; undefined where none may be given out now. */
  next(): number | undefined {
    if (this.nextOut >= this.count || this.nextOut - this.nextIn >= this.window) return undefined;
    return this.nextOut++;
  }

  put(index: number, result: T): void {
    this.held.set(index, result);
    this.highest = Math.max(this.highest, this.held.size);
    for (let ready = this.held.get(this.nextIn); ready !== undefined; ready = this.held.get(this.nextIn)) {
      this.held.delete(this.nextIn);
      this.take(ready, this.nextIn++);
    }
  }

  /** Whether all of the work has been given out. */
  get allOut(): boolean {
    return this.nextOut >= this.count;
  }

  /** The most results that were held at a time. */
  get mostHeld(): number {
    return this.highest;
  }
}
