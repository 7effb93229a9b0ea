/** The extension as a new user meets it, in a whole workbench. Every step leaves a picture in `tests/editor/shots/`. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import type { Browser } from "playwright-core";
import { afterAll, afterEach, beforeAll, expect, inject, test } from "vitest";
import { type CodeServer, startCodeServer } from "./code-server.ts";
import { until } from "./processes.ts";
import { openBrowser, place, Workbench } from "./workbench.ts";

const samples = join(import.meta.dirname, "../../../samples");
const sample = (name: string) => readFileSync(join(samples, name), "utf8");

/** A sound amplifier with one fault: the reservoir's rating. */
const FILE = "fantail-5.ampnet";
const sound = sample(FILE);
const text = sound.replace("C20 32u 450V", "C20 32u 250V");
const files = { [FILE]: text, "magpie-30.ampnet": sample("magpie-30.ampnet") };
const at = (needle: string, into = 0) => place(text, needle, into);

let server: CodeServer;
let browser: Browser;
let bench: Workbench;

beforeAll(async () => {
  server = await startCodeServer(inject("codeServer"), inject("vsix"), files);
  browser = await openBrowser();
  bench = await Workbench.open(browser, server.url);
});

afterEach(async ({ task }) => {
  if (task.result?.state === "fail") await bench?.shotOfFailure(task.name);
});

afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

test("a fault is underlined, and has a row in Problems", async () => {
  await bench.openFile(FILE);
  await bench.page.locator(".squiggly-error").first().waitFor({ state: "attached", timeout: 60_000 });
  const rows = await bench.openProblems();
  await rows.filter({ hasText: "C20 sees 3" }).first().waitFor();
  await bench.goTo(at("C20 32u"));
  await bench.shot("01-problems");
});

test("resting on a part shows its margins", async () => {
  const hover = await bench.hover(at("C20 32u", 1));
  await bench.shot("02-hover-part");
  expect(await hover.innerText()).toMatch(/C20/);
  await bench.closeHover();
});
