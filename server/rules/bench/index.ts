/** Rules of the family `bench`, one line each. */
import type { Rule } from "../rule.ts";

export const rules: readonly Rule[] = [];
