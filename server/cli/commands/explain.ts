/** `derate explain RULE` and `derate rules` */
import { closest, distance } from "fastest-levenshtein";
import { formatVersion } from "../../reports/json.ts";
import { ruleData, ruleList, rulePage } from "../../reports/ruleText.ts";
import { rules as catalogue, ruleById } from "../../rules/index.ts";
import type { Host } from "../host.ts";
import { type ColourOption, page } from "../page.ts";
import { status, UsageError } from "../status.ts";

export interface RuleCommandOptions extends ColourOption {
  readonly format: "text" | "json";
}

export function explain(id: string, options: RuleCommandOptions, host: Host): number {
  const rule = ruleById.get(id);
  if (!rule) throw new UsageError(`no rule is called "${id}"${meant(id)}; "derate rules" lists them`);
  host.out(
    options.format === "json" ? json({ rule: ruleData(rule) }) : `${rulePage(rule, page(options, host))}`,
  );
  return status.clean;
}

export function rules(options: RuleCommandOptions, host: Host): number {
  host.out(
    options.format === "json"
      ? json({ rules: catalogue.map(ruleData) })
      : ruleList(catalogue, page(options, host)),
  );
  return status.clean;
}

/** The rules that may be meant: those whose short name it is, or else the nearest in spelling. */
function meant(id: string): string {
  const ids = [...ruleById.keys()];
  const named = ids.filter((known) => known.split("/")[1] === id || known.startsWith(`${id}/`)).slice(0, 3);
  if (named.length > 0) return ` (meant: ${named.join(", ")}?)`;
  if (ids.length === 0) return "";
  const near = closest(id, ids);
  return distance(near, id) <= Math.max(2, id.length / 3) ? ` (meant: ${near}?)` : "";
}

function json(data: object): string {
  return `${JSON.stringify({ version: formatVersion, ...data }, undefined, 2)}\n`;
}
