/** `derate check --watch`: whatever a check rests on makes another when it changes, and nothing else does. */
import { mkdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { derate, folder } from "./host.ts";

/** A capacitor on a bench supply: 300 V on a part of so many volts. */
const bench = (volts: number, rest = "") =>
  `amp "Bench"\nsource B1 300V { plus: HT, minus: gnd }\nHT -- capacitor C1 100n ${volts}V film -- gnd\nHT -- resistor R1 1M 1W 500V metal-film -- gnd\n${rest}`;
const good = bench(630);
const bad = bench(100);

/** A watch that goes on until the test ends it. */
function watching(cwd: string, args: readonly string[] = ["."]) {
  const stop = new AbortController();
  let checks = 0;
  let text = "";
  let last = "";
  let waiting: (() => void) | undefined;
  const ran = derate(cwd, ["check", ...args, "--watch"], {
    stop: stop.signal,
    out: (more) => {
      text += more;
    },
    err: (more) => {
      text += more;
      if (!more.includes("watching")) return;
      checks++;
      last = text;
      text = "";
      waiting?.();
    },
  });
  /** One change may come as several, and be checked more than once: what counts is that a check comes to tell it. */
  const until = async (good: () => boolean) => {
    while (checks === 0 || !good())
      await new Promise<void>((done) => {
        waiting = done;
      });
  };
  return {
    /** Once a check has told so; fails by the test's own time where none does. */
    tells: (what: RegExp) => until(() => what.test(last)),
    tellsNot: (what: RegExp) => until(() => !what.test(last)),
    get checks() {
      return checks;
    },
    async end(): Promise<number> {
      stop.abort();
      return (await ran).code;
    },
  };
}

const time = (milliseconds: number) => new Promise((done) => setTimeout(done, milliseconds));

describe("watch", () => {
  it("checks again when a netlist changes, and ends with 0", async () => {
    const cwd = folder({ "a.ampnet": bad });
    const run = watching(cwd);
    await run.tells(/C1 sees 300 V/);
    writeFileSync(join(cwd, "a.ampnet"), good);
    await run.tellsNot(/C1 sees/);
    expect(await run.end()).toBe(0);
  });

  it("finds a netlist in a folder that was not there before", async () => {
    const cwd = folder({ "a.ampnet": good });
    const run = watching(cwd);
    await run.tells(/0 breached/);
    mkdirSync(join(cwd, "deep/er"), { recursive: true });
    writeFileSync(join(cwd, "deep/er/b.ampnet"), bad);
    await run.tells(/deep\/er\/b\.ampnet/);
    await run.end();
  });

  it("sees a pattern's new matches, in a folder of their own too", async () => {
    const cwd = folder({ "amps/one/a.ampnet": good });
    const run = watching(cwd, ["amps/**/*.ampnet"]);
    await run.tells(/0 breached/);
    mkdirSync(join(cwd, "amps/two"));
    writeFileSync(join(cwd, "amps/two/b.ampnet"), bad);
    await run.tells(/amps\/two\/b\.ampnet/);
    await run.end();
  });

  it("checks again when an included file elsewhere changes, with its result kept or not", async () => {
    const part = (volts: number) => `HT -- capacitor C2 100n ${volts}V film -- gnd\n`;
    const cwd = folder({
      "amps/a.ampnet": bench(630, 'include "parts/filter.inc"\n'),
      "amps/parts/filter.inc": part(100),
    });
    const run = watching(cwd, ["amps", "--cache"]);
    await run.tells(/C2 sees 300 V/);
    writeFileSync(join(cwd, "amps/parts/filter.inc"), part(630));
    await run.tellsNot(/C2 sees/);
    // Now both results are kept.
    writeFileSync(join(cwd, "amps/parts/filter.inc"), part(100));
    await run.tells(/C2 sees 300 V/);
    writeFileSync(join(cwd, "amps/parts/filter.inc"), part(400));
    await run.tellsNot(/C2 sees/);
    await run.end();
  });

  it("goes on where a file is missing, and checks when it comes", async () => {
    const cwd = folder({});
    const run = watching(cwd, ["later/a.ampnet"]);
    await run.tells(/later\/a\.ampnet: no such file/);
    mkdirSync(join(cwd, "later"));
    writeFileSync(join(cwd, "later/a.ampnet"), bad);
    await run.tells(/C1 sees 300 V/);
    await run.end();
  });

  it("checks again when a folder that it searched goes away, and when it comes back", async () => {
    const cwd = folder({ "amps/a.ampnet": good, "amps/b/c.ampnet": bad });
    const run = watching(cwd, ["amps"]);
    await run.tells(/c\.ampnet/);
    renameSync(join(cwd, "amps/b"), join(cwd, "put-by"));
    await run.tellsNot(/c\.ampnet/);
    renameSync(join(cwd, "put-by"), join(cwd, "amps/b"));
    await run.tells(/c\.ampnet/);
    rmSync(join(cwd, "amps"), { recursive: true });
    await run.tells(/amps: no such file/);
    await run.end();
  });

  it("sees what is in a folder that took another's name at once", async () => {
    const cwd = folder({ "amps/a.ampnet": good });
    const run = watching(cwd, ["amps"]);
    await run.tells(/0 breached/);
    rmSync(join(cwd, "amps"), { recursive: true });
    mkdirSync(join(cwd, "amps"));
    writeFileSync(join(cwd, "amps/a.ampnet"), bad);
    await run.tells(/C1 sees 300 V/);
    writeFileSync(join(cwd, "amps/a.ampnet"), good);
    await run.tellsNot(/C1 sees/);
    await run.end();
  });

  it("holds to a configuration that comes, is broken, and is mended", async () => {
    const cwd = folder({ "amps/a.ampnet": bad });
    const run = watching(cwd);
    await run.tells(/1 error/);
    writeFileSync(join(cwd, "amps/derate.config.json"), '{ "severity": { "rating": "advice" } }');
    await run.tellsNot(/1 error/);
    writeFileSync(join(cwd, "amps/derate.config.json"), '{ "severty": {} }');
    await run.tells(/severty/);
    writeFileSync(join(cwd, "amps/derate.config.json"), "{}");
    await run.tells(/1 error/);
    await run.end();
  });

  it("is not set off by what it writes itself", async () => {
    const cwd = folder({ "a.ampnet": bad });
    const run = watching(cwd, [".", "--output", "findings.json", "--cache"]);
    await run.tells(/C1 sees/);
    // The cache's own folder has come to be: no part of the search.
    await time(400);
    expect(run.checks).toBe(1);
    writeFileSync(join(cwd, "a.ampnet"), good);
    await run.tellsNot(/C1 sees/);
    const then = run.checks;
    await time(400);
    expect(run.checks).toBe(then);
    await run.end();
  });
});
