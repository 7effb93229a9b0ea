/** Rules of the family `circuit`, one line each. */
import type { Rule } from "../rule.ts";

export const rules: readonly Rule[] = [];
