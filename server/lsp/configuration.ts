/**
 * The configuration that holds for each netlist, as the command line finds it: the nearest one upward, what it extends, its
 * overrides and its files of valves. Files are read through the host, and read again when the client tells of a change.
 */
import { configName, ignoreFile } from "../config/names.ts";
import { checkOptions } from "../config/options.ts";
import type { Unreadable } from "../config/path.ts";
import type { Resolved } from "../config/resolve.ts";
import { findValve } from "../facts/valves/index.ts";
import { rules } from "../rules/index.ts";
import type { CheckOptions } from "../rules/rule.ts";
import type { ServerHost } from "./host.ts";

export interface Configured {
  readonly options: CheckOptions;
  /** With any, `options` are the rules' own: a wrong setting is not a setting left out, and is told. */
  readonly problems: readonly ConfigProblem[];
  /** URIs of everything that had a part. */
  readonly read: readonly string[];
  /** True: a search of a folder leaves this file out. */
  readonly ignored: boolean;
}

/** As the configuration's, by URI. */
export type ConfigProblem = Omit<Resolved["problems"][number], "file"> & { readonly uri: string };

/** Extending and naming files goes on at most this deep. */
const MOST_ROUNDS = 40;

export class ConfigurationFiles {
  /** By key; undefined: there is no such file. */
  readonly #texts = new Map<string, string | Unreadable | undefined>();
  readonly #known = new Map<string, Promise<Configured>>();

  constructor(private readonly host: Pick<ServerHost, "readText" | "today">) {}

  for(uri: string): Promise<Configured> {
    let known = this.#known.get(uri);
    if (!known) {
      known = this.#resolve(uri);
      this.#known.set(uri, known);
      // What failed is tried anew.
      known.catch(() => this.#known.delete(uri));
    }
    return known;
  }

  /** @returns whether it may have changed the settings of any netlist */
  changed(uri: string): boolean {
    const place = placeOf(uri);
    if (!place) return false;
    const key = place.root + place.path;
    const name = place.path.slice(place.path.lastIndexOf("/") + 1);
    if (!this.#texts.has(key) && name !== configName && name !== ignoreFile) return false;
    this.#texts.delete(key);
    this.#known.clear();
    return true;
  }

  /** Everything is read again. */
  forget(): void {
    this.#texts.clear();
    this.#known.clear();
  }

  async #resolve(uri: string): Promise<Configured> {
    const today = this.host.today();
    const none: Configured = { options: { today }, problems: [], read: [], ignored: false };
    const place = placeOf(uri);
    if (!place) return none;
    const folders: string[] = [];
    for (let path = place.path; path.length > 1; ) {
      path = path.slice(0, path.lastIndexOf("/"));
      folders.push(path);
    }
    await Promise.all(
      folders.flatMap((folder) =>
        [configName, ignoreFile].map((name) => this.#fetch(place.root, `${folder}/${name}`)),
      ),
    );
    const has = (name: string) =>
      folders.some((folder) => this.#texts.get(`${place.root}${folder}/${name}`) !== undefined);
    if (!has(configName) && !has(ignoreFile)) return none;

    // Few folders have a configuration, and its reader is half of the server's text.
    const [{ Configurations }, { ignoring }] = await Promise.all([
      import("../config/resolve.ts"),
      import("../config/ignored.ts"),
    ]);
    for (let round = 0; ; round++) {
      const missing = new Set<string>();
      const read = (path: string) => {
        if (!this.#texts.has(place.root + path)) missing.add(path);
        return this.#texts.get(place.root + path);
      };
      const resolved = new Configurations(read, rules, undefined, (type) => findValve(type)?.file).resolve(
        place.path,
      );
      if (missing.size > 0 && round < MOST_ROUNDS) {
        await Promise.all([...missing].map((path) => this.#fetch(place.root, path)));
        continue;
      }
      const problems = resolved.problems.map(({ file, ...problem }) => ({
        ...problem,
        uri: uriOf(place.root, file),
      }));
      return {
        options: problems.length > 0 ? { today } : checkOptions(resolved, today),
        problems,
        read: resolved.read.map((path) => uriOf(place.root, path)),
        ignored: ignoring(resolved.ignore, read)(place.path),
      };
    }
  }

  async #fetch(root: string, path: string): Promise<void> {
    const key = root + path;
    if (this.#texts.has(key)) return;
    let unreadable: Unreadable | undefined;
    const text = await this.host
      .readText(uriOf(root, path), (file) => {
        unreadable = file;
      })
      .catch(() => undefined);
    if (!this.#texts.has(key)) this.#texts.set(key, text ?? unreadable);
  }
}

/** `file:///a%20b/c` -> `file://` and `/a b/c`; undefined for what has no folders. */
function placeOf(uri: string): { readonly root: string; readonly path: string } | undefined {
  const [, root, path] = /^([a-z][a-z0-9+.-]*:\/\/[^/]*)(\/[^?#]*)/i.exec(uri) ?? [];
  if (root === undefined) return undefined;
  try {
    return { root, path: decodeURIComponent(path) };
  } catch {
    return undefined;
  }
}

const uriOf = (root: string, path: string) =>
  `${root}${path.startsWith("/") ? "" : "/"}${path.split("/").map(encodeURIComponent).join("/")}`;
