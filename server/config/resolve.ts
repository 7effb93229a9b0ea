/** Which settings hold for a netlist: the nearest configuration upward, what it extends, and its overrides. */
import picomatch from "picomatch";
import type { OwnValves } from "../facts/valves/own.ts";
import type { Rule } from "../rules/rule.ts";
import { folderOf, join, type ReadText } from "./path.ts";
import { type ConfigProblem, type ReadConfig, readConfig } from "./read.ts";
import { type Config, fileName, type Settings } from "./schema.ts";
import { type FitStore, type Published, type ReadValves, readValves } from "./valves.ts";

export type { ReadText };

export interface Resolved {
  /** Settings that hold for the file; the files of its valves by absolute path. */
  readonly settings: Settings;
  /** What those files hold, where there are any. */
  readonly valves?: OwnValves;
  /** The configuration found, where there is one. */
  readonly path?: string;
  /** All configurations that had a part, bases first, then the files of valves. */
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
  private readonly valveFiles = new Map<string, ReadValves | undefined>();
  /** One object for the same files, so that what is made of it is made once. */
  private readonly valveSets = new Map<string, OwnValves>();

  constructor(
    private readonly read: ReadText,
    private readonly rules: readonly Pick<Rule, "id" | "severity">[],
    /** A configuration that holds for all files, instead of the nearest. */
    private readonly given?: string,
    private readonly published: Published = () => undefined,
    private readonly fits?: FitStore,
  ) {}

  /** @param file absolute path with `/`; it need not exist */
  resolve(file: string): Resolved {
    const path = this.given ?? this.find(folderOf(file));
    if (path === undefined) return { settings: {}, read: [], problems: [], ignore: [] };
    const { settings, overrides, read, problems, ignore } = this.load(path, []);
    const holding = overrides.filter(({ matches }) => matches(file)).map((override) => override.settings);
    const all = holding.reduce(merge, settings);
    const resolved = { settings: all, path, read, problems, ignore };
    if (!all.valves || all.valves.length === 0) return resolved;
    const own = all.valves.map((one) => this.valvesOf(one));
    return {
      ...resolved,
      valves: this.valveSet(all.valves),
      read: [...read, ...all.valves],
      // A file that isn't there was told where it is named.
      problems: [...problems, ...own.flatMap((one) => one?.problems ?? [])],
    };
  }

  private valvesOf(path: string): ReadValves | undefined {
    if (this.valveFiles.has(path)) return this.valveFiles.get(path);
    const text = this.read(path);
    const read = typeof text === "string" ? readValves(path, text, this.published, this.fits) : undefined;
    this.valveFiles.set(path, read);
    return read;
  }

  private valveSet(paths: readonly string[]): OwnValves {
    const key = paths.join("\n");
    let set = this.valveSets.get(key);
    if (!set) {
      const all = paths.flatMap((path) => this.valvesOf(path) ?? []);
      set = {
        valves: all.flatMap(({ valves }) => valves),
        fits: Object.assign({}, ...all.map(({ fits }) => fits)),
      };
      this.valveSets.set(key, set);
    }
    return set;
  }

  /** Files of valves that a configuration names and that aren't there. */
  private missing(path: string, config: Config, problemAt: ReadConfig["problemAt"]): ConfigProblem[] {
    const lists = [
      { at: ["valves"] as (string | number)[], valves: config.valves },
      ...(config.overrides ?? []).map(({ valves }, index) => ({
        at: ["overrides", index, "valves"],
        valves,
      })),
    ];
    return lists.flatMap(({ at, valves }) =>
      (valves ?? []).flatMap((name, index) => {
        const text = this.read(join(folderOf(path), name));
        if (typeof text === "string") return [];
        const message = text
          ? `${name}: this file of valve types can't be read: ${text.why}`
          : `${name}: no such file; name a file of valve types from this file's folder`;
        return problemAt ? [problemAt([...at, index], message)] : [topProblem(path, message)];
      }),
    );
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
    if (text === undefined)
      return nothing([topProblem(path, "no such file; name a configuration that is there")]);
    if (typeof text !== "string") return nothing([topProblem(path, `it can't be read: ${text.why}`)], [path]);
    const { config, problems: wrong, problemAt } = readConfig(path, text, this.rules);
    if (!config) return nothing(wrong, [path]);
    const problems = [...wrong, ...this.missing(path, config, problemAt)];
    const bases = [config.extends ?? []].flat().map((base) => {
      const basePath = join(folderOf(path), base);
      if (basePath === path || within.includes(basePath))
        return nothing([topProblem(path, `extends ${base}, which leads round in a circle`)]);
      if (this.read(basePath) === undefined)
        return nothing([topProblem(path, `extends ${base}: no such file; name it from this file's folder`)]);
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
    settings: settingsOf(folder, config),
    overrides: (config.overrides ?? []).map((override) => ({
      matches: matcher(folder, override.files),
      settings: settingsOf(folder, override),
    })),
    ignore: config.ignore ? [{ folder, patterns: config.ignore }] : [],
  };
}

function settingsOf(folder: string, { severity, margins, region, ambient, valves }: Settings): Settings {
  return { severity, margins, region, ambient, valves: valves?.map((path) => join(folder, path)) };
}

/** What `over` says goes before what `base` says; severities and margins name by name, valves type by type. */
function merge(base: Settings, over: Settings): Settings {
  const keyed = <V>(a: Record<string, V> | undefined, b: Record<string, V> | undefined) =>
    a || b ? { ...a, ...b } : undefined;
  return {
    severity: keyed(base.severity, over.severity),
    margins: keyed(base.margins, over.margins),
    region: over.region ?? base.region,
    ambient: over.ambient ?? base.ambient,
    valves:
      base.valves && over.valves
        ? [...base.valves.filter((path) => !over.valves?.includes(path)), ...over.valves]
        : (over.valves ?? base.valves),
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
