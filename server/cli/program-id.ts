import { bundleHash } from "./bundle.ts";
import { version } from "./version.ts";

declare const DERATE_BUNDLED: boolean | undefined;

let known: string | undefined;

/**
 * Tells this build of the program from every other, for the cache: by the core, which makes the results. From its sources
 * every start is a new one.
 */
export function programId(): string {
  known ??=
    typeof DERATE_BUNDLED === "undefined"
      ? `${version} ${process.pid} ${process.hrtime.bigint()}`
      : `${version} ${bundleHash("commands.js")}`;
  return known;
}
