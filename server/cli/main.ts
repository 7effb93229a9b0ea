/** What reads the arguments and calls the commands, as one bundle: compiled when the program is built, like the others. */
export { processHost } from "./host.ts";
export { program } from "./program.ts";
export { run } from "./run.ts";
