/** Rules of the family `earth`, one line each. */
import type { Rule } from "../rule.ts";

export const rules: readonly Rule[] = [];
