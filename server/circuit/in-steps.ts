/** Long work with stops in between: as in the grammar, for all that comes after it. */
export { atOnce, type InSteps } from "../../grammar/in-steps.ts";
