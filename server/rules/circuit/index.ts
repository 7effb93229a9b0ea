/** Rules of the family `circuit`, one line each. */
import type { Rule } from "../rule.ts";
import { commonCause } from "./common-cause.ts";
import { metRules } from "./met.ts";
import { noDcPath } from "./no-dc-path.ts";
import { notSolved } from "./not-solved.ts";
import { short } from "./short.ts";
import { singleUseNet } from "./single-use-net.ts";
import { unconnected } from "./unconnected.ts";
import { ruleFailed, waiveExpired, waiveUnused } from "./waive.ts";

export const rules: readonly Rule[] = [
  commonCause,
  ...metRules,
  unconnected,
  singleUseNet,
  noDcPath,
  short,
  notSolved,
  waiveUnused,
  waiveExpired,
  ruleFailed,
];
