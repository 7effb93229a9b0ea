/** `derate format PATH…` */
import { format as formatText } from "../../../grammar/format.ts";
import { count } from "../../reports/units.ts";
import { decode, findNetlists, readNetlist } from "../files.ts";
import type { Host } from "../host.ts";
import { status, UsageError } from "../status.ts";
import { inputName, readOr, unreadStatus } from "../unread.ts";
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
  const { files } = await findNetlists(paths, host);
  const lines: string[] = [];
  const unread: string[] = [];
  let changed = 0;
  for (const file of files) {
    // What can't be read, or can't be written, costs itself alone.
    const done = readOr(() => {
      const text = readNetlist(file);
      const formatted = formatText(text);
      if (text === formatted) return false;
      if (!options.check) writeWhole(file.path, file.absolute, formatted);
      return true;
    });
    if ("why" in done) unread.push(done.why);
    else if (done.value) {
      changed++;
      lines.push(`${file.path}: ${options.check ? "would change" : "formatted"}\n`);
    }
  }
  const kept = files.length - unread.length - changed;
  if (!options.check) lines.push(`${count(changed, "file")} changed, ${kept} already in order.\n`);
  else if (changed === 0 && kept > 0) lines.push(`${count(kept, "file")} in order.\n`);
  host.out(lines.join(""));
  if (unread.length > 0) return unreadStatus(unread, host);
  return options.check && changed > 0 ? status.findings : status.clean;
}

/** From standard input to standard output, for an editor that pipes its text through. */
async function formatInput(
  paths: readonly string[],
  options: FormatCommandOptions,
  host: Host,
): Promise<number> {
  if (paths.length > 1) throw new UsageError('"-" stands alone: standard input goes to standard output');
  const text = decode(inputName, await host.readInput());
  const formatted = formatText(text);
  if (!options.check) host.out(formatted);
  else host.out(text === formatted ? "standard input in order.\n" : "standard input: would change\n");
  return options.check && text !== formatted ? status.findings : status.clean;
}
