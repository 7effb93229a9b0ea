/** The options that say how a check is done, not what it finds. */
import { ResultCache } from "./cache.ts";
import type { Host } from "./host.ts";
import { programId } from "./program-id.ts";
import { UsageError } from "./status.ts";

export interface SpeedOptions {
  readonly cache?: string | boolean;
  readonly threads?: string;
}

export function cacheOf({ cache }: SpeedOptions, host: Host): ResultCache | undefined {
  if (cache === undefined || cache === false) return undefined;
  return new ResultCache(cache === true ? ".derate-cache" : cache, host, programId());
}

/** @throws UsageError where it isn't a whole number of at least `least` */
export function whole(option: string, text: string | undefined, least: number): number | undefined {
  if (text === undefined) return undefined;
  const value = Number(text);
  if (!/^\d+$/.test(text) || value < least)
    throw new UsageError(
      `${option} ${text}: write a whole number${least > 0 ? ` of at least ${least}` : ""}`,
    );
  return value;
}
