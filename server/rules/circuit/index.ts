/** Rules of the family `circuit`, one line each. */
import type { Rule } from "../rule.ts";
import { noDcPath } from "./no-dc-path.ts";
import { singleUseNet } from "./single-use-net.ts";

export const rules: readonly Rule[] = [singleUseNet, noDcPath];
