/** Parts of Node that few runs need, and that cost every start some milliseconds: loaded when first used. */
import { createRequire } from "node:module";

const load = createRequire(import.meta.url);

export const cryptography = (): typeof import("node:crypto") => load("node:crypto");
export const processes = (): typeof import("node:child_process") => load("node:child_process");
export const engine = (): typeof import("node:v8") => load("node:v8");
