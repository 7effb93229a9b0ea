/** `derate format PATH…` */
import { format as formatText } from "../../../grammar/format.ts";
import { count } from "../../reports/units.ts";
import { decode, findNetlists, readNetlists } from "../files.ts";
import type { Host } from "../host.ts";
import { status, UsageError } from "../status.ts";
import { writeWhole } from "../write.ts";

export interface FormatCommandOptions {
  readonly check?: boolean;
}

export async function format(
  paths: readonly string[],
  options: FormatCommandOptions,
  host: Host,
): Promise<number> {
  if (paths.includes("-")) return formatInput(paths, options, host);
  const files = readNetlists((await findNetlists(paths, host)).files, (file, text) => {
    const formatted = formatText(text);
    return text === formatted ? undefined : { file, formatted };
  });
  const changed = files.filter((one) => one !== undefined);
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

/** From standard input to standard output, for an editor that pipes its text through. */
async function formatInput(
  paths: readonly string[],
  options: FormatCommandOptions,
  host: Host,
): Promise<number> {
  if (paths.length > 1) throw new UsageError('"-" stands alone: standard input goes to standard output');
  const text = decode("standard input", await host.readInput());
  const formatted = formatText(text);
  if (!options.check) host.out(formatted);
  else host.out(text === formatted ? "standard input in order.\n" : "standard input: would change\n");
  return options.check && text !== formatted ? status.findings : status.clean;
}
