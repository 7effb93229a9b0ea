/** What the check takes of a configuration: the same for the command line and the language server. */
import type { CheckOptions } from "../rules/rule.ts";
import type { Resolved } from "./resolve.ts";

/** @param today ISO date, the host's */
export function checkOptions(
  { settings, valves }: Pick<Resolved, "settings" | "valves">,
  today: string,
): CheckOptions {
  const { severity, margins, region, ambient } = settings;
  return {
    today,
    ...(severity ? { severity } : {}),
    ...(margins ? { margins } : {}),
    ...(region ? { region } : {}),
    ...(ambient !== undefined ? { ambient } : {}),
    ...(valves && valves.valves.length > 0 ? { valves } : {}),
  };
}
