/** Loads what reads the arguments. */
import { bundle } from "./bundle.ts";

declare const DERATE_BUNDLED: boolean | undefined;

export type Main = typeof import("./main.ts");

/** V8 stays as it comes until there is something to check: what is said to it costs help and version more than it brings. */
export const loadMain: () => Promise<Main> =
  typeof DERATE_BUNDLED === "undefined"
    ? () => import("./main.ts")
    : async () => bundle("main.js", { settle: false }) as Main;
