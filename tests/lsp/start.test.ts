/** What V8 made of the server is taken again at the next start: else a start takes half as long again, and nobody is told. */
import { once } from "node:events";
import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { expect, it } from "vitest";
import { built, Client } from "./client.ts";

const build = built();
const sample = readFileSync(resolve(import.meta.dirname, "../../samples/brolga-35.ampnet"), "utf8");

/** Starts the server, has a text checked often enough for its memory to grow, and ends it. @returns what V8 said of the code */
async function run(folder?: string): Promise<string> {
  const told = join(build.dist, "..", "told");
  const hook = join(build.dist, "..", "told.cjs");
  writeFileSync(
    hook,
    `const vm = require("node:vm");
    const { Script } = vm;
    vm.Script = class extends Script {
      constructor(text, options) {
        super(text, options);
        require("node:fs").writeFileSync(${JSON.stringify(told)}, String(this.cachedDataRejected));
      }
    };`,
  );
  rmSync(told, { force: true });
  const client = await Client.start(build.dist, undefined, true, {
    flags: ["-r", hook],
    env: folder === undefined ? {} : { DERATE_CODE_CACHE: folder },
  });
  await client.open("file:///a.ampnet", sample);
  for (let version = 2; version < 8; version++) {
    await client.pull("file:///a.ampnet");
    await client.change("file:///a.ampnet", version, sample.replace("100k", `10${version}k`));
  }
  // Left to end by itself: it keeps the code then.
  const ended = once(client.child, "exit");
  await client.connection.sendRequest("shutdown");
  await client.connection.sendNotification("exit");
  await ended;
  return readFileSync(told, "utf8");
}

it("that the build kept, and that a run kept for the next", async () => {
  expect(await run()).toBe("false");
  // Without what the build kept, a run keeps its own.
  for (const name of readdirSync(build.dist)) if (name.endsWith(".code")) rmSync(join(build.dist, name));
  const folder = join(build.dist, "..", "code");
  mkdirSync(folder);
  expect(await run(folder)).toBe("undefined");
  expect(readdirSync(folder)).toHaveLength(1);
  expect(await run(folder)).toBe("false");
});
