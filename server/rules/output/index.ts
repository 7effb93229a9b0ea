/** Rules of the family `output`, one line each. */
import type { Rule } from "../rule.ts";
import { loadMismatch } from "./load-mismatch.ts";
import { noLoadPath } from "./no-load-path.ts";
import { platePeak } from "./plate-peak.ts";
import { power } from "./power.ts";
import { transformerCurrent } from "./transformer-current.ts";
import { transformerPower } from "./transformer-power.ts";
import { windingEnds } from "./winding-ends.ts";

export const rules: readonly Rule[] = [
  windingEnds,
  loadMismatch,
  noLoadPath,
  platePeak,
  power,
  transformerPower,
  transformerCurrent,
];
