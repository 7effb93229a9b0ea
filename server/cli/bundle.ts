/**
 * Loads one of our own bundles with the code that V8 made of it when the program was built, where this is the same V8;
 * with any other it is compiled as always. Compiling is most of a short command's time.
 */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { basename, dirname, join } from "node:path";
import { Script } from "node:vm";
import { settleEngine } from "./engine.ts";

/** Hash of each bundle's text, by its name; the build writes it in. */
declare const DERATE_BUNDLES: Readonly<Record<string, string>>;

interface Loaded {
  readonly script: Script;
  readonly exports: unknown;
}

/** Each bundle has this code, and what one has loaded the others take. */
const key = Symbol.for("derate.bundles");
const shared = globalThis as { [key]?: Map<string, Loaded> };
shared[key] ??= new Map();
const loaded = shared[key];

/** @param name of a file beside the running one; `settle` as `settleEngine` has it, the same wherever this bundle is loaded */
export function bundle(name: string, { settle = true } = {}): unknown {
  let known = loaded.get(name);
  if (!known) {
    if (settle) settleEngine();
    known = load(join(__dirname, name));
    loaded.set(name, known);
  }
  return known.exports;
}

function load(file: string): Loaded {
  // The build leaves no sign beyond ASCII in it.
  const source = readFileSync(file, "latin1");
  // The same frame that Node puts around a CommonJS file.
  const script = new Script(`(function (exports, require, module, __filename, __dirname) {${source}\n})`, {
    filename: file,
    cachedData: cached(file),
  });
  const module = { exports: {} };
  script.runInThisContext()(module.exports, createRequire(file), module, file, dirname(file));
  return { script, exports: module.exports };
}

/** Of a bundle's text, as the build found it. */
export function bundleHash(name: string): string {
  return DERATE_BUNDLES[name];
}

/** V8 turns down what another version made; that it was made of this very text, the name says. */
function cached(file: string): Buffer | undefined {
  try {
    return readFileSync(cacheOf(file));
  } catch {
    return undefined;
  }
}

function cacheOf(file: string): string {
  return `${file}.${DERATE_BUNDLES[basename(file)]}.${process.arch}-${process.versions.v8}.cache`;
}

/** For the build: the code of everything that has run so far. */
export function codeOf(name: string): { readonly path: string; readonly data: Buffer } | undefined {
  const known = loaded.get(name);
  return known && { path: cacheOf(join(__dirname, name)), data: known.script.createCachedData() };
}
