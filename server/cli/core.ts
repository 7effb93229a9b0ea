/** What a check takes of the core, in one place: loaded when something is to be checked, or the rules to be told. */
export { findValve } from "../facts/valves/index.ts";
export { rules } from "../rules/index.ts";
export { checker } from "./checker.ts";

/** Apart, since few runs change anything. */
export const loadFix = () => import("./fix.ts");
