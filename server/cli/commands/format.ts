/** `derate format PATH…` */
import { format as formatText } from "../../../grammar/format.ts";
import { count } from "../../reports/units.ts";
import { findNetlists, readNetlists, writeWhole } from "../files.ts";
import type { Host } from "../host.ts";
import { status } from "../status.ts";

export interface FormatCommandOptions {
  readonly check?: boolean;
}

export function format(paths: readonly string[], options: FormatCommandOptions, host: Host): number {
  const files = readNetlists(findNetlists(paths, host));
  const changed = files
    .map(({ file, text }) => ({ file, text, formatted: formatText(text) }))
    .filter(({ text, formatted }) => text !== formatted);
  if (options.check) {
    host.out(
      changed.length === 0
        ? `${count(files.length, "file")} in order.\n`
        : `${changed.map(({ file }) => `${file.path}: would change`).join("\n")}\n`,
    );
    return changed.length === 0 ? status.clean : status.findings;
  }
  for (const { file, formatted } of changed) writeWhole(file.path, file.absolute, formatted);
  const kept = files.length - changed.length;
  host.out(
    `${changed.map(({ file }) => `${file.path}: formatted\n`).join("")}${count(changed.length, "file")} changed, ${kept} already in order.\n`,
  );
  return status.clean;
}
