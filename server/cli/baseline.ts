/** The baseline's file. */
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { reason } from "../reason.ts";
import type { Baseline, Gone } from "../reports/baseline.ts";
import { count } from "../reports/units.ts";
import type { Host } from "./host.ts";
import { UsageError } from "./status.ts";

export const baselineName = "derate-baseline.json";

export interface BaselineOption {
  readonly baseline?: string;
}

/** @throws UsageError where it can't be read or isn't a baseline */
export function readBaseline(path: string, host: Pick<Host, "cwd">): Baseline {
  let data: unknown;
  try {
    data = JSON.parse(readFileSync(resolve(host.cwd, path), "utf8"));
  } catch (error) {
    throw new UsageError(
      error instanceof SyntaxError
        ? `${path}: not JSON (${error.message}); write it anew with "derate baseline write"`
        : `${path}: ${reason(error)}; "derate baseline write" makes one`,
    );
  }
  if (isBaseline(data)) return data;
  throw new UsageError(`${path}: not a baseline; write it anew with "derate baseline write"`);
}

function isBaseline(data: unknown): data is Baseline {
  const object = (value: unknown): value is Record<string, unknown> =>
    typeof value === "object" && value !== null && !Array.isArray(value);
  return (
    object(data) &&
    data.version === 1 &&
    object(data.findings) &&
    Object.values(data.findings).every(
      (byRule) =>
        object(byRule) &&
        Object.values(byRule).every(
          (counts) =>
            object(counts) && Object.values(counts).every((n) => Number.isInteger(n) && (n as number) > 0),
        ),
    )
  );
}

/** What a baseline has that is found no more, for standard error. */
export function goneText(gone: readonly Gone[], path: string): string {
  const total = gone.reduce((sum, one) => sum + one.count, 0);
  const lines = gone.map(
    (one) => `  ${one.path}  ${one.rule}  ${one.on}${one.count > 1 ? `  (${one.count} times)` : ""}`,
  );
  return `derate: ${count(total, "finding")} of ${path} ${total === 1 ? "is" : "are"} no more; "derate baseline write" takes them out:\n${lines.join("\n")}\n`;
}
