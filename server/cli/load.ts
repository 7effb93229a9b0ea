/** Loads the commands' work: from its own bundle when bundled, so that help and version do not wait for it. */
declare const DERATE_BUNDLED: boolean | undefined;

export type Commands = typeof import("./commands.ts");

export const loadCommands: () => Promise<Commands> =
  typeof DERATE_BUNDLED === "undefined"
    ? () => import("./commands.ts")
    : async () => require("./commands.js") as Commands;
