/** The configuration that holds for each file. Its reader is loaded only where there is one to read. */
import { existsSync } from "node:fs";
import { dirname, resolve, sep } from "node:path";
import { configName } from "../config/names.ts";
import type { Resolved } from "../config/resolve.ts";
import type { FitStore } from "../config/valves.ts";
import { readText } from "../read-text.ts";
import type { Host } from "./host.ts";
import { loadConfigReader } from "./load-config-reader.ts";
import { loadCore } from "./load-core.ts";
import { shownPath } from "./shown.ts";
import { UsageError } from "./status.ts";

export { configName };

export interface ConfigOption {
  /** `--config FILE` gives its name, `--no-config` false. */
  readonly config?: string | boolean;
}

export interface HostConfiguration {
  /** @throws UsageError with every mistake in the configuration, at its place */
  for(absolute: string): Promise<Resolved>;
}

const none: Resolved = { settings: {}, read: [], problems: [], ignore: [] };

/** @param fits keeps what was fitted to the user's valves; left out it is fitted at each run */
export function configuration(
  options: ConfigOption,
  host: Pick<Host, "cwd">,
  fits?: FitStore,
): HostConfiguration {
  if (options.config === false) return { for: async () => none };
  const given = typeof options.config === "string" ? resolve(host.cwd, options.config) : undefined;
  const known = new Map<string, boolean>();
  const exists = (folder: string): boolean => {
    let has = known.get(folder);
    if (has === undefined) {
      const above = dirname(folder);
      has = existsSync(`${folder}/${configName}`) || (above !== folder && exists(above));
      known.set(folder, has);
    }
    return has;
  };
  let reader: Promise<{ resolve(file: string): Resolved }> | undefined;
  return {
    for: async (absolute) => {
      if (given === undefined && !exists(dirname(absolute))) return none;
      reader ??= load(given, fits);
      const resolved = (await reader).resolve(slashed(absolute));
      if (resolved.problems.length > 0)
        throw new UsageError(
          resolved.problems
            .map(
              ({ file, range: { start }, message }) =>
                `${shownPath(file, host.cwd)}:${start.line + 1}:${start.character + 1}: ${message}`,
            )
            .join("\n"),
        );
      return resolved;
    },
  };
}

async function load(given: string | undefined, fits: FitStore | undefined) {
  const { Configurations } = await loadConfigReader();
  const { rules, findValve } = await loadCore();
  return new Configurations(
    readText,
    rules,
    given === undefined ? undefined : slashed(given),
    (type) => findValve(type)?.file,
    fits,
  );
}

const slashed = (path: string) => path.split(sep).join("/");
