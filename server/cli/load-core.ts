/** Loads the core, for the first file that no cache has, or for the rules' texts. */
import { bundle } from "./bundle.ts";
import type { Commands } from "./load.ts";

declare const DERATE_BUNDLED: boolean | undefined;

export type Core = typeof import("./core.ts");

export const loadCore: () => Promise<Core> =
  typeof DERATE_BUNDLED === "undefined"
    ? () => import("./core.ts")
    : () => (bundle("commands.js") as Commands).core();
