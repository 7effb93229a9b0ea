/**
 * How V8 is to go about our work. Measured on whole runs: as it comes, it spends half of a short command's time on optimising
 * code that has a few calls left to serve, and lets a heap of 15 MB grow to five times that before it collects.
 * The settings go into what it compares before it takes kept code, so they are the same wherever such code is made or loaded.
 */
import { engine } from "./on-demand.ts";

/** Bytes of code that a function runs through before it is worth optimising; 66 kB as V8 comes. */
const inShortRuns = 4_000_000;
const inLongRuns = 100_000;

let known = false;

/** Help and version come by without it. */
const setFlagsFromString = (flags: string): void => engine().setFlagsFromString(flags);

/** Before any of our bundles is loaded. */
export function settleEngine(): void {
  if (known) return;
  known = true;
  setFlagsFromString(`--interrupt-budget=${inShortRuns}`);
  setFlagsFromString("--heap-growing-percent=40");
  // What lives as long as a check is not to be made among the old, where it keeps alive all that it reaches.
  setFlagsFromString("--no-allocation-site-pretenuring");
}

/** For more than a few amplifiers, once all that is kept has been loaded. */
export function expectLongRun(): void {
  setFlagsFromString(`--interrupt-budget=${inLongRuns}`);
}

/** Where every processor has a thread that checks: collections that call on the others for help only get in their way. */
export function expectNoHelp(): void {
  setFlagsFromString("--no-parallel-scavenge");
}

/** Of a thread that checks: a young generation of as much as one check leaves behind. */
export const threadLimits = { maxYoungGenerationSizeMb: 24 } as const;
