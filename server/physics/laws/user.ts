/**
 * Fits a user's own types on load, once for each file object. Apart from `own.ts` so that the least-squares library is
 * loaded only by who reads such a file.
 */
import { valveFiles } from "../../facts/valves/all.ts";
import type { ValveFile } from "../../facts/valves/file.ts";
import type { LawParameters } from "../../facts/valves/fit-file.ts";
import { fitsOf } from "./fit/own.ts";
import { type Laws, lawsOf } from "./own.ts";

export type { Laws };

const fitted = new WeakMap<ValveFile, Readonly<Record<string, LawParameters>>>();

/** @param own a user's types, as `userValves` gives them */
export function lawsWith(own: readonly ValveFile[]): Laws {
  const find = (type: string) => valveFiles.find((file) => file.type === type);
  for (const file of own) if (!fitted.has(file)) fitted.set(file, fitsOf([file], find, own)[file.type] ?? {});
  return lawsOf({
    valves: own,
    fits: Object.fromEntries(
      own.map((file) => [file.type, fitted.get(file) as Record<string, LawParameters>]),
    ),
  });
}
