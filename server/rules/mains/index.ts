/** Rules of the family `mains`, one line each. */
import type { Rule } from "../rule.ts";
import { fuseFirst } from "./fuse-first.ts";
import { neutralBroken } from "./neutral-broken.ts";

export const rules: readonly Rule[] = [fuseFirst, neutralBroken];
