/** The commands' work, one file each. */
export { baselineWrite } from "./commands/baseline.ts";
export { check } from "./commands/check.ts";
export { compare } from "./commands/compare.ts";
export { completion } from "./commands/completion.ts";
export { config } from "./commands/config.ts";
export { explain, rules } from "./commands/explain.ts";
export { format } from "./commands/format.ts";
export { init } from "./commands/init.ts";
export { merge } from "./commands/merge.ts";
export { volts } from "./commands/volts.ts";
export { serve } from "./workers.ts";
