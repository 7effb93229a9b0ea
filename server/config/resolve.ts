/** Which settings hold for a netlist: the nearest configuration upward, what it extends, and its overrides. */
import picomatch from "picomatch";
import type { Rule } from "../rules/rule.ts";
import { type ConfigProblem, readConfig } from "./read.ts";
import { type Config, fileName, type Settings } from "./schema.ts";

/** The text of a file by its absolute path with `/`; undefined where there is none. */
export type ReadText = (path: string) => string | undefined;

export interface Resolved {
  /** Settings that hold for the file. */
  readonly settings: Settings;
  /** The configuration found, where there is one. */
  readonly path?: string;
  /** All configurations that had a part, bases first. */
  readonly read: readonly string[];
  /** Of all of those. With any, nothing should be checked: a wrong setting is not a setting left out. */
  readonly problems: readonly ConfigProblem[];
  /** Patterns of what a search leaves out, each with the folder that it counts from. */
  readonly ignore: readonly { readonly folder: string; readonly patterns: readonly string[] }[];
}

interface Loaded {
  readonly settings: Settings;
  readonly overrides: readonly { readonly matches: (path: string) => boolean; readonly settings: Settings }[];
  readonly read: readonly string[];
  readonly problems: readonly ConfigProblem[];
  readonly ignore: Resolved["ignore"];
}

/**
 * Resolves file by file, each configuration read once.
 * The nearest configuration is the whole truth; one further up counts only where it is extended.
 */
export class Configurations {
  private readonly byFolder = new Map<string, string | undefined>();
  private readonly loaded = new Map<string, Loaded>();

  constructor(
    private readonly read: ReadText,
    private readonly rules: readonly Pick<Rule, "id" | "severity">[],
    /** A configuration that holds for all files, instead of the nearest. */
    private readonly given?: string,
  ) {}

  /** @param file absolute path with `/`; it need not exist */
  resolve(file: string): Resolved {
    const path = this.given ?? this.find(folderOf(file));
    if (path === undefined) return { settings: {}, read: [], problems: [], ignore: [] };
    const { settings, overrides, read, problems, ignore } = this.load(path, []);
    const holding = overrides.filter(({ matches }) => matches(file)).map((override) => override.settings);
    return { settings: holding.reduce(merge, settings), path, read, problems, ignore };
  }

  private find(folder: string): string | undefined {
    if (this.byFolder.has(folder)) return this.byFolder.get(folder);
    const path = join(folder, fileName);
    const above = folderOf(folder);
    const found = this.read(path) !== undefined ? path : above !== folder ? this.find(above) : undefined;
    this.byFolder.set(folder, found);
    return found;
  }

  private load(path: string, within: readonly string[]): Loaded {
    const known = this.loaded.get(path);
    if (known) return known;
    const text = this.read(path);
    if (text === undefined) return nothing([topProblem(path, "no such file, or it can't be read")]);
    const { config, problems } = readConfig(path, text, this.rules);
    if (!config) return nothing(problems, [path]);
    const bases = [config.extends ?? []].flat().map((base) => {
      const basePath = join(folderOf(path), base);
      if (basePath === path || within.includes(basePath))
        return nothing([topProblem(path, `extends ${base}, which leads round in a circle`)]);
      if (this.read(basePath) === undefined)
        return nothing([topProblem(path, `extends ${base}: no such file, or it can't be read`)]);
      return this.load(basePath, [...within, path]);
    });
    const own = ownPart(path, config);
    const all = [...bases, { ...own, problems, read: [path] }];
    const result: Loaded = {
      settings: all.map((part) => part.settings).reduce(merge, {}),
      overrides: all.flatMap((part) => part.overrides),
      read: [...new Set(all.flatMap((part) => part.read))],
      problems: all.flatMap((part) => part.problems),
      ignore: all.flatMap((part) => part.ignore),
    };
    this.loaded.set(path, result);
    return result;
  }
}

function ownPart(path: string, config: Config): Pick<Loaded, "settings" | "overrides" | "ignore"> {
  const folder = folderOf(path);
  return {
    settings: settingsOf(config),
    overrides: (config.overrides ?? []).map((override) => ({
      matches: matcher(folder, override.files),
      settings: settingsOf(override),
    })),
    ignore: config.ignore ? [{ folder, patterns: config.ignore }] : [],
  };
}

function settingsOf({ severity, margins, region, ambient }: Settings): Settings {
  return { severity, margins, region, ambient };
}

/** What `over` says goes before what `base` says; severities and margins name by name. */
function merge(base: Settings, over: Settings): Settings {
  const keyed = <V>(a: Record<string, V> | undefined, b: Record<string, V> | undefined) =>
    a || b ? { ...a, ...b } : undefined;
  return {
    severity: keyed(base.severity, over.severity),
    margins: keyed(base.margins, over.margins),
    region: over.region ?? base.region,
    ambient: over.ambient ?? base.ambient,
  };
}

function matcher(folder: string, patterns: readonly string[]): (path: string) => boolean {
  const matches = patterns.map((pattern) =>
    picomatch(pattern.includes("/") ? pattern.replace(/^\.?\//, "") : `**/${pattern}`, { dot: true }),
  );
  const prefix = folder.endsWith("/") ? folder : `${folder}/`;
  return (path) => path.startsWith(prefix) && matches.some((match) => match(path.slice(prefix.length)));
}

function nothing(problems: readonly ConfigProblem[], read: readonly string[] = []): Loaded {
  return { settings: {}, overrides: [], read, problems, ignore: [] };
}

function topProblem(file: string, message: string): ConfigProblem {
  const start = { line: 0, character: 0 };
  return { file, range: { start, end: start }, message };
}

/** `/a/b` -> `/a`; `/a` -> `/`; the root is its own. */
export function folderOf(path: string): string {
  const at = path.lastIndexOf("/");
  if (at < 0) return path;
  return at === 0 ? "/" : path.slice(0, at).replace(/^([A-Za-z]:)$/, "$1/");
}

/** Joins and takes `.` and `..` out. An absolute second path stands alone. */
export function join(folder: string, path: string): string {
  const whole = path.startsWith("/") || /^[A-Za-z]:\//.test(path) ? path : `${folder}/${path}`;
  const parts: string[] = [];
  for (const part of whole.split("/")) {
    if (part === "..") parts.pop();
    else if (part !== "" && part !== ".") parts.push(part);
  }
  return `${whole.startsWith("/") ? "/" : ""}${parts.join("/")}`;
}
