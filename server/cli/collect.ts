/** From the arguments of a check to the files it is about, each with its text and options. */
import { dirname, resolve, sep } from "node:path";
import { checkOptions } from "../config/options.ts";
import type { Resolved } from "../config/resolve.ts";
import type { ReportOptions } from "../reports/report.ts";
import type { CheckOptions, Severity } from "../rules/rule.ts";
import type { ResultCache } from "./cache.ts";
import { type ConfigOption, configuration } from "./configuration.ts";
import { digestOf } from "./digest.ts";
import { decode, findNetlists, type Look, type NetlistFile, readNetlist } from "./files.ts";
import type { Host } from "./host.ts";
import type { JobSource } from "./job.ts";
import { loadCore } from "./load-core.ts";
import { UsageError } from "./status.ts";
import { inputName, inputPath, readOr } from "./unread.ts";

export interface CollectOptions extends ConfigOption {
  /** Name of what comes from standard input. */
  readonly as?: string;
  /** `--no-ignore` gives false. */
  readonly ignore?: boolean;
  /** `2/8`. */
  readonly shard?: string;
  /** `rating=warning`, each. */
  readonly rule?: readonly string[];
  /** Judge waivers as of this day. */
  readonly today?: string;
  /** Told of all that the result rests on, before any of it is read: a watch goes on where one check failed. */
  readonly look?: Look;
}

export interface Collected {
  readonly jobs: readonly JobSource[];
  /** The file on disk of each job; undefined for standard input. */
  readonly files: readonly (NetlistFile | undefined)[];
  /** Every configuration that had a part. */
  readonly configurations: readonly string[];
  readonly ignored: number;
}

/** The netlists that are on disk, absolute. */
export function onDisk({ files }: Pick<Collected, "files">): string[] {
  return files.flatMap((file) => (file ? [file.absolute] : []));
}

/**
 * @param cache where results are kept: then each text has its digest, and what was fitted to own valves is kept there too
 * @throws UsageError for a path that leads nowhere, and for an option or a configuration that can't be understood; then
 *   nothing has been checked. A file that can't be read is told when its turn comes.
 */
export async function collect(
  paths: readonly string[],
  options: CollectOptions,
  host: Host,
  want: ReportOptions,
  cache?: ResultCache,
): Promise<Collected> {
  const today = day(options.today) ?? host.today;
  const wishes = await severities(options.rule ?? []);
  const config = configuration(options, host, cache?.fits);
  const { files: all, ignored } = await found(paths, options, config, host);
  const files = shardOf(all, options.shard);
  const digestFor = (read: () => string): string | undefined => {
    const digest = cache && readOr(() => digestOf(read()));
    return digest && "value" in digest ? digest.value : undefined;
  };
  const configurations = new Set<string>();
  // One object for the same settings: threads and caches make more of it than of its values.
  const made = new Map<Resolved["settings"], CheckOptions>();
  const optionsOf = (resolved: Resolved): CheckOptions => {
    let own = made.get(resolved.settings);
    if (!own) {
      const given = checkOptions(resolved, today);
      const severity = wishes || given.severity ? { ...given.severity, ...wishes } : undefined;
      own = severity ? { ...given, severity } : given;
      made.set(resolved.settings, own);
    }
    return own;
  };
  const jobs: JobSource[] = [];
  if (options.look && typeof options.config === "string") options.look(resolve(host.cwd, options.config));
  for (const file of files) {
    if (options.look && file) lookUpwards(file.absolute, host.cwd, options.look);
    const path = file?.path ?? options.as ?? inputPath;
    const resolved = await config.for(file?.absolute ?? resolve(host.cwd, path));
    for (const read of resolved.read) configurations.add(read);
    if (options.look) resolved.read.forEach(options.look);
    const shared = { path, options: optionsOf(resolved), want };
    if (file) {
      const read = () => readNetlist(file);
      jobs.push({ ...shared, digest: digestFor(read), read });
    } else {
      const bytes = await host.readInput();
      const read = () => decode(inputName, bytes);
      jobs.push({ ...shared, digest: digestFor(read), read });
    }
  }
  return { jobs, files, configurations: [...configurations], ignored };
}

async function found(
  paths: readonly string[],
  options: CollectOptions,
  config: ReturnType<typeof configuration>,
  host: Host,
): Promise<{ files: (NetlistFile | undefined)[]; ignored: number }> {
  const named = paths.filter((path) => path !== "-");
  const fromInput = named.length < paths.length;
  if (options.as !== undefined && !fromInput)
    throw new UsageError('--as names what comes from standard input; give "-" as a path too');
  if (named.length === 0) return { files: [undefined], ignored: 0 };
  if (options.ignore === false) {
    const { files, ignored } = await findNetlists(named, host, undefined, options.look);
    return { files: fromInput ? [...files, undefined] : [...files], ignored };
  }
  const { ignoring } = await import("./ignore.ts");
  const folders = new Map<string, ReturnType<typeof ignoring>>();
  for (const path of named) {
    const folder = resolve(host.cwd, path);
    folders.set(folder, ignoring((await config.for(`${folder}/any`)).ignore));
  }
  const own = ignoring((await config.for(resolve(host.cwd, "any"))).ignore);
  const { files, ignored } = await findNetlists(
    named,
    host,
    (folder) => folders.get(folder) ?? own,
    options.look,
  );
  return { files: fromInput ? [...files, undefined] : [...files], ignored };
}

/** A configuration may come to stand in any folder from the file's own up to where derate runs. */
function lookUpwards(absolute: string, cwd: string, look: Look): void {
  for (let at = dirname(absolute); at.startsWith(`${cwd}${sep}`); at = dirname(at)) look(at);
}

/** Every nth file, so that all shards take about as long. */
function shardOf<T>(files: readonly T[], shard: string | undefined): readonly T[] {
  if (shard === undefined) return files;
  const [, nth, of] = /^(\d+)\/(\d+)$/.exec(shard)?.map(Number) ?? [];
  if (nth === undefined || nth < 1 || nth > of)
    throw new UsageError(`--shard ${shard}: write which of how many, as 2/8`);
  return files.filter((_, index) => index % of === nth - 1);
}

/** `--rule rating/resistor-power=off` */
async function severities(rules: readonly string[]): Promise<Record<string, Severity | "off"> | undefined> {
  if (rules.length === 0) return undefined;
  const ids = (await loadCore()).rules.map(({ id }) => id);
  const names = new Set([...ids, ...ids.map((id) => id.split("/")[0])]);
  const known = ["error", "warning", "advice", "unchecked", "off"];
  return Object.fromEntries(
    rules.map((rule) => {
      const [id, wish] = rule.split("=");
      if (!id || !known.includes(wish))
        throw new UsageError(
          `--rule ${rule}: write a rule or family, and one of ${known.join(", ")}, as rating=warning`,
        );
      if (!names.has(id))
        throw new UsageError(
          `--rule ${rule}: no rule or family is called "${id}"; "derate rules" lists them`,
        );
      return [id, wish as Severity | "off"];
    }),
  );
}

function day(text: string | undefined): string | undefined {
  if (text === undefined) return undefined;
  const date = new Date(`${text}T00:00:00Z`);
  if (
    /^\d{4}-\d{2}-\d{2}$/.test(text) &&
    !Number.isNaN(date.getTime()) &&
    date.toISOString().startsWith(text)
  )
    return text;
  throw new UsageError(`--today ${text}: not a date; write it as 2027-03-01`);
}
