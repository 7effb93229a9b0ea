/**
 * Results by content: an entry holds only for the same text, name, options, program and Node, and for the same texts of
 * every file that it includes. So nothing in it ever grows old; what no run asks for is just left lying.
 *
 * An entry is two lines: a short head, with all that a run needs which prints only what it comes to, and the report.
 */
import { existsSync, mkdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import type { FitStore } from "../config/valves.ts";
import type { FileReport, ReportOptions } from "../reports/report.ts";
import type { Tally } from "../reports/summary.ts";
import type { CheckOptions } from "../rules/rule.ts";
import { digestOf } from "./digest.ts";
import type { Host } from "./host.ts";
import type { Job, JobSource } from "./job.ts";
import { readOr } from "./unread.ts";
import { makeFolder } from "./write.ts";

interface Head {
  /** The day that waivers were judged by; absent where no text sets a day. */
  readonly today?: string;
  /** Digest of each included file's text; null where it could not be read. */
  readonly included: readonly (readonly [file: string, digest: string | null])[];
  readonly tally: Tally;
  /** Bytes of the line that follows: an entry that lost its end is none. */
  readonly bytes: number;
}

export interface Kept {
  readonly tally: Tally;
  /** The files that it includes. */
  readonly included: readonly string[];
  report(): FileReport;
}

export class ResultCache {
  private readonly folder: string;
  private readonly digests = new Map<string, string | null>();
  /** Of the options as they go into a key; the files of one configuration often share theirs. */
  private readonly optionKeys = new WeakMap<CheckOptions, string>();
  private made = false;

  /**
   * @param folder where entries lie, from the host's folder
   * @param program tells builds of this program apart
   */
  constructor(
    private readonly shownFolder: string,
    private readonly host: Pick<Host, "cwd">,
    private readonly program: string,
  ) {
    this.folder = resolve(host.cwd, shownFolder);
    this.made = existsSync(this.folder);
  }

  /** Whether there is an entry; whether it still holds is known when it is found. */
  has(source: JobSource): boolean {
    if (!this.made) return false;
    const digest = readOr(() => source.digest ?? digestOf(source.read()));
    return "value" in digest && existsSync(this.pathOf(source, digest.value));
  }

  /** An entry that can't be read or isn't whole counts as none. */
  find(source: JobSource): Kept | undefined {
    if (!this.made) return undefined;
    let head: Head;
    let line: Buffer;
    try {
      const entry = readFileSync(this.pathOf(source, source.digest ?? digestOf(source.read())));
      const end = entry.indexOf(0x0a);
      head = JSON.parse(entry.toString("utf8", 0, end));
      line = entry.subarray(end + 1);
    } catch {
      return undefined;
    }
    if (line.length !== head.bytes) return undefined;
    if (head.today !== undefined && head.today !== source.options.today) return undefined;
    if (!head.included.every(([file, digest]) => this.digestOf(file) === digest)) return undefined;
    const included = head.included.map(([file]) => file);
    return { tally: head.tally, included, report: () => JSON.parse(line.toString("utf8")) };
  }

  /** A cache that can't be written is no reason to fail a check, but a folder that can't be made is a wrong option. */
  keep(job: Job, report: FileReport, tally: Tally, included: readonly string[]): void {
    const texts = [job.text, ...included.map((file) => this.textOf(file) ?? "")];
    const line = Buffer.from(JSON.stringify(report));
    const head: Head = {
      ...(texts.some((text) => /\buntil\b/.test(text)) ? { today: job.options.today } : {}),
      included: included.map((file) => [file, this.digestOf(file)]),
      tally,
      bytes: line.length,
    };
    // The text that was checked, which may be another than the one that was looked for.
    const entry = Buffer.concat([Buffer.from(`${JSON.stringify(head)}\n`), line]);
    this.write(this.pathOf(job, digestOf(job.text)), entry);
  }

  /** Of the user's own valves, by the text of their file: fitting a type takes a second. */
  readonly fits: FitStore = {
    find: (text) => {
      try {
        return this.made ? JSON.parse(readFileSync(this.fitsPath(text), "utf8")) : undefined;
      } catch {
        return undefined;
      }
    },
    keep: (text, fits) => this.write(this.fitsPath(text), JSON.stringify(fits)),
  };

  private fitsPath(text: string): string {
    return this.entry(["fits", this.program, process.version, digestOf(text)]);
  }

  private write(path: string, entry: string | Buffer): void {
    if (!this.made) makeFolder(this.shownFolder, this.folder);
    this.made = true;
    try {
      mkdirSync(dirname(path), { recursive: true });
      const temporary = `${path}.${process.pid}`;
      writeFileSync(temporary, entry);
      renameSync(temporary, path);
    } catch {
      // Not kept: the next run works it out again.
    }
  }

  private pathOf(
    { path, options, want }: { path: string; options: CheckOptions; want: ReportOptions },
    digest: string,
  ): string {
    return this.entry([this.program, process.version, path, this.keyOf(options), want, digest]);
  }

  private entry(of: readonly unknown[]): string {
    const key = digestOf(JSON.stringify(of));
    return join(this.folder, key.slice(0, 2), `${key.slice(2)}.json`);
  }

  private keyOf(options: CheckOptions): string {
    let key = this.optionKeys.get(options);
    if (key === undefined) {
      // The day is held in the entry, for the few files that it matters to.
      const { today: _, ...rest } = options;
      key = digestOf(JSON.stringify(rest));
      this.optionKeys.set(options, key);
    }
    return key;
  }

  private digestOf(file: string): string | null {
    let digest = this.digests.get(file);
    if (digest === undefined) {
      const text = this.textOf(file);
      digest = text === undefined ? null : digestOf(text);
      this.digests.set(file, digest);
    }
    return digest;
  }

  private textOf(file: string): string | undefined {
    try {
      return readFileSync(resolve(this.host.cwd, file), "utf8");
    } catch {
      return undefined;
    }
  }
}
