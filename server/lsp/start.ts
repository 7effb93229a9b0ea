/**
 * Starts the language server for Node. Compiling is half of a start: what V8 made of the server is taken from the folder that
 * the client names in `DERATE_CODE_CACHE`, where it is kept for the next start with this text and this V8, or else from
 * beside the server, where the build left it for the Node that it ran in.
 */
import { mkdirSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { getHeapSpaceStatistics, setFlagsFromString } from "node:v8";
import { Script } from "node:vm";

/** When the code is kept, milliseconds from the start, or at the end of a shorter one: most of it has run once by then. */
const KEPT_AFTER = 8_000;
const ENDING = ".code";

// A check leaves much behind and holds little: as it comes, V8 lets it grow to several times what lives before it collects.
setFlagsFromString("--heap-growing-percent=40");
// What survived a few collections it would then make among the old straight away, where it keeps alive all that it reaches until the
// next full one: but an analysis dies with the next keystroke, however long it has lived.
setFlagsFromString("--no-allocation-site-pretenuring");
// And it optimises code that is about to be done with: a first check takes twice the time that it needs.
setFlagsFromString("--interrupt-budget=1000000");

/** Bytes for what is young, both halves: a check leaves more behind than it keeps, and four times as much finds no more of it. */
const YOUNG = 8 * 1024 * 1024;
// Its limit is a setting of the command line, which most clients don't give: without it the server takes 25 MB more, for
// garbage. What can be said while V8 runs is that it grows no further.
const watch = setInterval(() => {
  const young = getHeapSpaceStatistics().find(({ space_name: name }) => name === "new_space");
  if (young && young.space_size < YOUNG) return;
  growBy(1);
  clearInterval(watch);
}, 50);
watch.unref();

let growth: 1 | 2 = 2;
function growBy(factor: 1 | 2): void {
  growth = factor;
  setFlagsFromString(`--semi-space-growth-factor=${factor}`);
}

/** Hash of each bundle's text, by its name; the build writes it in. */
declare const DERATE_BUNDLES: Readonly<Record<string, string>>;

const file = join(__dirname, "server.js");
// The build leaves no sign beyond ASCII in it.
const source = readFileSync(file, "latin1");
const own = `server-${DERATE_BUNDLES["server.js"]}-${process.arch}-${process.versions.v8}${ENDING}`;
const folder = process.env.DERATE_CODE_CACHE;
// The same frame that Node puts around a CommonJS file.
const script = new Script(`(function (exports, require, module, __filename, __dirname) {${source}\n})`, {
  filename: file,
  cachedData: (folder ? kept(join(folder, own)) : undefined) ?? kept(join(__dirname, own)),
});
const exported = { exports: {} };
script.runInThisContext()(exported.exports, createRequire(file), exported, file, dirname(file));
if (folder && script.cachedDataRejected !== false) {
  let done = false;
  const once = () => {
    if (!done) keep(folder);
    done = true;
  };
  setTimeout(once, KEPT_AFTER).unref();
  process.on("exit", once);
}

function kept(path: string): Buffer | undefined {
  try {
    return readFileSync(path);
  } catch {
    return undefined;
  }
}

/** Renamed when whole, so that a start beside this one reads no half of it; what other versions left goes. */
function keep(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
    const partial = join(folder, `${own}.${process.pid}`);
    // Code is only taken where V8 was told the same as where it was made: at a start, nothing of this yet.
    const before = growth;
    growBy(2);
    const code = script.createCachedData();
    growBy(before);
    writeFileSync(partial, code);
    renameSync(partial, join(folder, own));
    for (const name of readdirSync(folder))
      if (name.endsWith(ENDING) && name !== own) rmSync(join(folder, name), { force: true });
  } catch {
    // A folder that cannot be written costs the next start its time, no more.
  }
}
