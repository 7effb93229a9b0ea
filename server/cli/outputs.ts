/** Where findings are written to, and in which format. */
import { resolve } from "node:path";
import { StringDecoder } from "node:string_decoder";
import { type FormatContext, type FormatName, writers } from "../reports/formats/index.ts";
import type { FileReport } from "../reports/report.ts";
import type { ReportWriter } from "../reports/writer.ts";
import { extension } from "./files.ts";
import type { Host } from "./host.ts";
import { Spool } from "./spool.ts";
import { isUsageError, UsageError } from "./status.ts";
import { behindLinks, isDevice, writeWhole } from "./write.ts";

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
  if (name !== undefined && name in writers) return { format: name as FormatName, path };
  // The longest ending that fits: `.sarif.json` before `.json`.
  const ending = byEnding.filter(([end]) => given.endsWith(end)).sort(([a], [b]) => b.length - a.length)[0];
  if (ending) return { format: ending[1], path: given };
  throw new UsageError(
    `--output ${given}: no format has this ending; put one before the name, as junit:${given} (${Object.keys(writers).join(", ")})`,
  );
}

/**
 * Every place is written once, and none takes away what was read.
 * @param kept the files that the run reads, absolute
 * @throws UsageError naming each place that is given twice, or is one of those
 */
export function holdApart(
  outputs: readonly Pick<Output, "path">[],
  kept: readonly string[],
  host: Pick<Host, "cwd">,
): void {
  const read = new Set(outputs.length === 0 ? [] : kept.map(behindLinks));
  const taken = new Set<string>();
  const troubles: string[] = [];
  for (const { path } of outputs) {
    const place = behindLinks(resolve(host.cwd, path));
    if (isDevice(place)) continue;
    // What a netlist includes isn't known before it is checked, so nothing of that ending is written over.
    if (place.endsWith(extension))
      troubles.push(`${path}: not written: that is a netlist's name; give the output another ending`);
    else if (read.has(place))
      troubles.push(`${path}: not written: it is one of the files that are read; name another place`);
    else if (taken.has(place))
      troubles.push(`${path}: not written: two outputs go there; name a place for each`);
    taken.add(place);
  }
  if (troubles.length > 0) throw new UsageError(troubles.join("\n"));
}

/** What a run tells: takes its reports one by one and holds none, and writes all of it at the end. */
export class Outputs {
  private readonly shown: Sheet;
  private readonly files: readonly (Sheet & { readonly path: string })[];

  /** @param paths of all files that will be told of, in order */
  constructor(
    format: FormatName,
    outputs: readonly Output[],
    context: FormatContext,
    paths: readonly string[],
    private readonly host: Pick<Host, "cwd" | "out">,
  ) {
    const sheet = (name: FormatName): Sheet => ({
      writer: writers[name](context, paths),
      spool: new Spool(),
    });
    this.shown = sheet(format);
    this.files = outputs.map((output) => ({ ...sheet(output.format), path: output.path }));
  }

  add(report: FileReport): void {
    for (const { writer, spool } of [this.shown, ...this.files]) spool.push(writer.add(report));
  }

  /**
   * Writes each file whole or not at all, all tried, then what is shown: that last, so that nothing is shown of a run that
   * could not be told as was asked.
   * @throws UsageError naming every file that could not be written
   */
  write(): void {
    const troubles: string[] = [];
    for (const { writer, spool, path } of this.files) {
      try {
        writeWhole(path, resolve(this.host.cwd, path), spool.read(writer.end()));
      } catch (error) {
        if (!isUsageError(error)) throw error;
        troubles.push(error.message);
      }
    }
    if (troubles.length > 0) throw new UsageError(troubles.join("\n"));
    const decoder = new StringDecoder("utf8");
    for (const part of this.shown.spool.read(this.shown.writer.end()))
      this.host.out(typeof part === "string" ? part : decoder.write(part));
  }

  close(): void {
    for (const { spool } of [this.shown, ...this.files]) spool.close();
  }
}

interface Sheet {
  readonly writer: ReportWriter;
  readonly spool: Spool;
}
