/** How wide and how coloured a text for a person is. */
import { type Style, style } from "../reports/style.ts";
import type { Host } from "./host.ts";

export interface ColourOption {
  /** `--color` gives true, `--no-color` false; left out the terminal decides. */
  readonly color?: boolean;
}

export function page(options: ColourOption, host: Host): { readonly style: Style; readonly width: number } {
  return { style: style(coloured(options, host)), width: Math.max(40, Math.min(host.columns ?? 110, 110)) };
}

/** The option first, then NO_COLOR (any value but an empty one, as no-color.org has it), then whether a person is looking. */
function coloured(options: ColourOption, host: Host): boolean {
  if (options.color !== undefined) return options.color;
  if (host.env.NO_COLOR || host.env.TERM === "dumb") return false;
  return host.terminal;
}
