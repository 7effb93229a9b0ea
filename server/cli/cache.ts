/**
 * Results by content: an entry holds only for the same text, name, options, program and Node, and for the same texts of
 * every file that it includes. So nothing in it ever grows old; what no run asks for is just left lying.
 */
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import type { FileReport } from "../reports/report.ts";
import type { Host } from "./host.ts";
import type { Job } from "./job.ts";
import { makeFolder } from "./write.ts";

interface Entry {
  /** The day that waivers were judged by; absent where no text sets a day. */
  readonly today?: string;
  /** Hash of each included file's text; null where it could not be read. */
  readonly included: readonly (readonly [file: string, hash: string | null])[];
  readonly report: FileReport;
}

export class ResultCache {
  private readonly folder: string;
  private readonly hashes = new Map<string, string | null>();
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
  }

  /** An entry that can't be read or isn't whole counts as none. */
  find(job: Job): FileReport | undefined {
    let entry: Entry;
    try {
      entry = JSON.parse(readFileSync(this.pathOf(job), "utf8"));
    } catch {
      return undefined;
    }
    if (entry.today !== undefined && entry.today !== job.options.today) return undefined;
    return entry.included.every(([file, hash]) => this.hashOf(file) === hash) ? entry.report : undefined;
  }

  /** A cache that can't be written is no reason to fail a check, but a folder that can't be made is a wrong option. */
  keep(job: Job, report: FileReport, included: readonly string[]): void {
    if (!this.made) makeFolder(this.shownFolder, this.folder);
    this.made = true;
    const texts = [job.text, ...included.map((file) => this.textOf(file) ?? "")];
    const entry: Entry = {
      ...(texts.some((text) => /\buntil\b/.test(text)) ? { today: job.options.today } : {}),
      included: included.map((file) => [file, this.hashOf(file)]),
      report,
    };
    const path = this.pathOf(job);
    try {
      mkdirSync(dirname(path), { recursive: true });
      const temporary = `${path}.${process.pid}`;
      writeFileSync(temporary, JSON.stringify(entry));
      renameSync(temporary, path);
    } catch {
      // Not kept: the next run checks again.
    }
  }

  private pathOf({ path, text, options, want }: Job): string {
    // The day is held in the entry, for the few files that it matters to.
    const { today: _, ...rest } = options;
    const key = sha256(JSON.stringify([this.program, process.version, path, rest, want, text]));
    return join(this.folder, key.slice(0, 2), `${key.slice(2)}.json`);
  }

  private hashOf(file: string): string | null {
    let hash = this.hashes.get(file);
    if (hash === undefined) {
      const text = this.textOf(file);
      hash = text === undefined ? null : sha256(text);
      this.hashes.set(file, hash);
    }
    return hash;
  }

  private textOf(file: string): string | undefined {
    try {
      return readFileSync(resolve(this.host.cwd, file), "utf8");
    } catch {
      return undefined;
    }
  }
}

function sha256(text: string): string {
  return createHash("sha256").update(text).digest("hex");
}
