/** Loads the commands' work from a bundle of its own: help and version wait for none of it. */
import { bundle } from "./bundle.ts";

declare const DERATE_BUNDLED: boolean | undefined;

export type Commands = typeof import("./commands.ts");

export const loadCommands: () => Promise<Commands> =
  typeof DERATE_BUNDLED === "undefined"
    ? () => import("./commands.ts")
    : async () => bundle("commands.js") as Commands;
