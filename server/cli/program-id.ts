import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { version } from "./version.ts";

declare const DERATE_BUNDLED: boolean | undefined;

let known: string | undefined;

/** Tells this build of the program from every other, for the cache. From its sources every start is a new one. */
export function programId(): string {
  known ??=
    typeof DERATE_BUNDLED === "undefined"
      ? `${version} ${process.pid} ${process.hrtime.bigint()}`
      : createHash("sha256").update(readFileSync(__filename)).digest("hex");
  return known;
}
