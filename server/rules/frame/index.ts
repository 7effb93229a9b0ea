/** What a rule file needs, in one import. */
export * from "./finding.ts";
export * from "./insert.ts";
export * from "./limit.ts";
export * from "./parts.ts";
export * from "./preferred.ts";
export * from "./quantity.ts";
export { isValueless } from "./refused.ts";
export * from "./state.ts";
export * from "./worst.ts";
