/** Names that are looked for in folders, apart from what reads them: reading costs more than looking. */

export const configName = "derate.config.json";

/** Patterns of what a search leaves out, in the manner of `.gitignore`. */
export const ignoreFile = ".derateignore";
