/** Rules of the family `valve`, one line each. */
import type { Rule } from "../rule.ts";
import { heaterCathode } from "./heater-cathode.ts";
import { plateDissipation } from "./plate-dissipation.ts";

export const rules: readonly Rule[] = [plateDissipation, heaterCathode];
