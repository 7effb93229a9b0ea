/** Where findings are written to, and in which format. */
import { resolve } from "node:path";
import { type FormatContext, type FormatName, formats } from "../reports/formats/index.ts";
import type { FileReport } from "../reports/report.ts";
import type { Host } from "./host.ts";
import { isUsageError, UsageError } from "./status.ts";
import { writeWhole } from "./write.ts";

export interface Output {
  readonly format: FormatName;
  readonly path: string;
}

const byEnding: readonly (readonly [string, FormatName])[] = [
  [".sarif", "sarif"],
  [".sarif.json", "sarif"],
  [".xml", "junit"],
  [".md", "markdown"],
  [".csv", "csv"],
  [".txt", "text"],
  [".json", "json"],
];

/**
 * `--output FILE` or `--output FORMAT:FILE`; the format is that of the file's ending when it isn't given.
 * @throws UsageError where neither tells a format
 */
export function outputOf(given: string): Output {
  const [, name, path] = /^([a-z]+):(.+)$/.exec(given) ?? [];
  if (name !== undefined && name in formats) return { format: name as FormatName, path };
  // The longest ending that fits: `.sarif.json` before `.json`.
  const ending = byEnding.filter(([end]) => given.endsWith(end)).sort(([a], [b]) => b.length - a.length)[0];
  if (ending) return { format: ending[1], path: given };
  throw new UsageError(
    `--output ${given}: no format has this ending; put one before the name, as junit:${given} (${Object.keys(formats).join(", ")})`,
  );
}

/**
 * Writes each file whole or not at all. All are made before the first is written, and all are tried.
 * @throws UsageError naming every file that could not be written
 */
export function writeOutputs(
  outputs: readonly Output[],
  reports: readonly FileReport[],
  context: FormatContext,
  host: Pick<Host, "cwd">,
): void {
  const troubles: string[] = [];
  const made = outputs.map(({ format, path }) => ({ path, text: formats[format](reports, context) }));
  for (const { path, text } of made) {
    try {
      writeWhole(path, resolve(host.cwd, path), text);
    } catch (error) {
      if (!isUsageError(error)) throw error;
      troubles.push(error.message);
    }
  }
  if (troubles.length > 0) throw new UsageError(troubles.join("\n"));
}
