/** Loads what a command needs when it needs it, each from its own bundle: help and version wait for none of it. */
import { bundle } from "./bundle.ts";

declare const DERATE_BUNDLED: boolean | undefined;

export type Commands = typeof import("./commands.ts");
export type ConfigReader = typeof import("./config-reader.ts");

export const loadCommands: () => Promise<Commands> =
  typeof DERATE_BUNDLED === "undefined"
    ? () => import("./commands.ts")
    : async () => bundle("commands.js") as Commands;

/** Apart from the commands, since few runs read a configuration and its checks are half a megabyte. */
export const loadConfigReader: () => Promise<ConfigReader> =
  typeof DERATE_BUNDLED === "undefined"
    ? () => import("./config-reader.ts")
    : async () => bundle("config.js") as ConfigReader;
