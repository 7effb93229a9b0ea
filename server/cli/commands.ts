/** The commands' work, one file each. */
export { check } from "./commands/check.ts";
export { explain, rules } from "./commands/explain.ts";
export { format } from "./commands/format.ts";
export { volts } from "./commands/volts.ts";
