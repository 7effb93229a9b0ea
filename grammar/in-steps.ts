/** Long work with stops in between, for a host that has others to answer meanwhile. */
export type InSteps<T> = Generator<void, T>;

/** The same at once. */
export function atOnce<T>(work: InSteps<T>): T {
  for (;;) {
    const step = work.next();
    if (step.done) return step.value;
  }
}
