/** Loads what reads configurations, apart from the commands: few runs read one, and its checks are half a megabyte. */
import { bundle } from "./bundle.ts";

declare const DERATE_BUNDLED: boolean | undefined;

export type ConfigReader = typeof import("./config-reader.ts");

export const loadConfigReader: () => Promise<ConfigReader> =
  typeof DERATE_BUNDLED === "undefined"
    ? () => import("./config-reader.ts")
    : async () => bundle("config.js") as ConfigReader;
