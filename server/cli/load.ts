/**
 * Loads the commands' work from bundles of their own: help and version wait for none of it, and a check whose results are
 * all kept waits for nothing of the core.
 */
import { bundle } from "./bundle.ts";

declare const DERATE_BUNDLED: boolean | undefined;

/** All commands but those of `Checking`, and the core. */
export type Commands = typeof import("./commands.ts");
/** The commands that check collections. */
export type Checking = typeof import("./collections.ts");

export const loadCommands: () => Promise<Commands> =
  typeof DERATE_BUNDLED === "undefined"
    ? () => import("./commands.ts")
    : async () => bundle("commands.js") as Commands;

export const loadChecking: () => Promise<Checking> =
  typeof DERATE_BUNDLED === "undefined"
    ? () => import("./collections.ts")
    : async () => bundle("check.js") as Checking;
