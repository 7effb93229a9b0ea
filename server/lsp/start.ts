/**
 * Starts the language server for Node. Compiling is half of a start: where the client names a folder of its own in
 * `DERATE_CODE_CACHE`, what V8 made of the server is kept there, for the next start with this text and this V8.
 */
import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { Script } from "node:vm";

/** When the code is kept, milliseconds from the start: most of what a session runs has run once by then. */
const KEPT_AFTER = 8_000;
const ENDING = ".code";

const file = join(__dirname, "server.js");
const folder = process.env.DERATE_CODE_CACHE;
if (folder) startKeeping(folder);
else createRequire(file)(file);

function startKeeping(folder: string): void {
  // The build leaves no sign beyond ASCII in it.
  const source = readFileSync(file, "latin1");
  const own = `${createHash("sha256").update(source).digest("hex").slice(0, 16)}-${process.arch}-${process.versions.v8}${ENDING}`;
  // The same frame that Node puts around a CommonJS file.
  const script = new Script(`(function (exports, require, module, __filename, __dirname) {${source}\n})`, {
    filename: file,
    cachedData: kept(join(folder, own)),
  });
  const module = { exports: {} };
  script.runInThisContext()(module.exports, createRequire(file), module, file, dirname(file));
  if (script.cachedDataRejected === false) return;
  setTimeout(() => keep(folder, own, script), KEPT_AFTER).unref();
}

function kept(path: string): Buffer | undefined {
  try {
    return readFileSync(path);
  } catch {
    return undefined;
  }
}

/** Renamed when whole, so that a start beside this one reads no half of it; what other versions left goes. */
function keep(folder: string, own: string, script: Script): void {
  try {
    mkdirSync(folder, { recursive: true });
    const partial = join(folder, `${own}.${process.pid}`);
    writeFileSync(partial, script.createCachedData());
    renameSync(partial, join(folder, own));
    for (const name of readdirSync(folder))
      if (name.endsWith(ENDING) && name !== own) rmSync(join(folder, name), { force: true });
  } catch {
    // A folder that cannot be written costs the next start its time, no more.
  }
}
