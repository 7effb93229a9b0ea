/** The mains: what is reckoned with at each level, and by whose word. */
import type { MainsSupply } from "../../circuit/model.ts";
import { quantity } from "../../rules/frame/quantity.ts";
import { MAINS_CAUTION } from "../cautions.ts";

export function hoverMains({ region, hertz, volts, toleranceSource }: MainsSupply): string {
  const at = (level: keyof MainsSupply["volts"]) => quantity(volts[level], "V", 4);
  return [
    `**mains**${region ? ` · ${region}` : ""} · ${quantity(hertz, "Hz", 3)}`,
    `| low | nominal | high |\n| --- | --- | --- |\n| ${at("low")} | ${at("nominal")} | ${at("high")} |`,
    `Source: ${toleranceSource}`,
    MAINS_CAUTION,
  ].join("\n\n");
}
