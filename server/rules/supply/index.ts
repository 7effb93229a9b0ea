/** Rules of the family `supply`, one line each. */
import type { Rule } from "../rule.ts";
import { heaterCurrent } from "./heater-current.ts";
import { rectifierDirectCurrent } from "./rectifier-direct-current.ts";

export const rules: readonly Rule[] = [rectifierDirectCurrent, heaterCurrent];
