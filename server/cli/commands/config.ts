/** `derate config [PATH]` */
import { resolve } from "node:path";
import { formatVersion } from "../../reports/json.ts";
import { type ConfigOption, configName, configuration } from "../configuration.ts";
import type { Host } from "../host.ts";
import { loadConfigReader } from "../load-config-reader.ts";
import { shownPath } from "../shown.ts";
import { status } from "../status.ts";

export interface ConfigCommandOptions extends ConfigOption {
  readonly schema?: boolean;
}

export async function config(path: string, options: ConfigCommandOptions, host: Host): Promise<number> {
  if (options.schema) {
    const { jsonSchema } = await loadConfigReader();
    host.out(`${JSON.stringify(jsonSchema(), undefined, 2)}\n`);
    return status.clean;
  }
  const { settings, read, ignore } = await configuration(options, host).for(resolve(host.cwd, path));
  const data = {
    version: formatVersion,
    path,
    /** Bases first; none where there is no configuration. */
    read: read.map((file) => shownPath(file, host.cwd)),
    settings: settings.valves
      ? { ...settings, valves: settings.valves.map((file) => shownPath(file, host.cwd)) }
      : settings,
    ignore: ignore.map(({ folder, patterns }) => ({ folder: shownPath(folder, host.cwd), patterns })),
  };
  host.out(`${JSON.stringify(data, undefined, 2)}\n`);
  if (read.length === 0)
    host.err(`derate: no ${configName} here or in a folder above; the rules' own settings hold\n`);
  return status.clean;
}
