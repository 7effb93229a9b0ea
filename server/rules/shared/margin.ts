/** Margins of practice: the file's, the options', or the default of the facts. */
import { type MarginFamily, margins } from "../../facts/margins.ts";
import { margin } from "../frame/index.ts";
import type { RuleContext } from "../rule.ts";

/**
 * The share of a rating that practice allows in a family. A family that stands for another (`film` for `capacitor`) takes
 * what is written for that one where nothing is written for itself.
 */
export function practice(
  context: RuleContext,
  family: MarginFamily,
  parent?: MarginFamily,
): { readonly margin: number; readonly marginSource: string } {
  const standard = margins[family];
  const own = margin(context, family, Number.NaN);
  if (!Number.isNaN(own.margin)) return own;
  if (parent) {
    const wider = margin(context, parent, Number.NaN);
    if (!Number.isNaN(wider.margin)) return wider;
  }
  return { margin: standard.share, marginSource: standard.source };
}
