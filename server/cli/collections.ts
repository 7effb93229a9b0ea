/** The commands that check collections, as one bundle without the core. */
export { baselineWrite } from "./commands/baseline.ts";
export { check } from "./commands/check.ts";
