/** The extension in a workbench without a server: the language server runs in a worker, and no Node is there. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import type { Browser } from "playwright-core";
import { afterAll, afterEach, beforeAll, expect, inject, test } from "vitest";
import { until } from "./processes.ts";
import { startWebWorkbench, type WebWorkbench } from "./web-workbench.ts";
import { openBrowser, place, Workbench } from "./workbench.ts";

const FILE = "fantail-5.ampnet";
/** The output stage stands in a file of its own, which the worker can only have through the client. */
const whole = readFileSync(join(import.meta.dirname, "../../../samples", FILE), "utf8").replace(
  "C20 32u 450V",
  "C20 32u 250V",
);
const cut = whole.indexOf("# ── output stage");
const files = {
  [FILE]: `${whole.slice(0, cut)}include "output.ampnet"\n`,
  "output.ampnet": whole.slice(cut),
};

let server: WebWorkbench;
let browser: Browser;
let bench: Workbench;

beforeAll(async () => {
  server = await startWebWorkbench(inject("webWorkbench"), inject("extension"), files);
  browser = await openBrowser();
  bench = await Workbench.open(browser, server.url);
});

afterEach(async ({ task }) => {
  if (task.result?.state === "fail") await bench?.shotOfFailure(`web ${task.name}`);
});

afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

const overload = () => bench.problems.filter({ hasText: "C20 sees 3" });

test("a worker finds the fault, with what an included file says", async () => {
  await bench.openFile(FILE);
  await bench.openProblems();
  await overload().waitFor({ timeout: 60_000 });
  // The volts are those of the whole amplifier: without V2's current they would be far higher.
  expect(await overload().first().textContent()).toContain("C20 sees 338 V at idle");
});

test("volts stand beside the nets, and a part shows its margins", async () => {
  const at = place(files[FILE], "C20 32u", 1);
  await bench.goTo(at);
  await bench.page.locator(".squiggly-error").first().waitFor({ state: "attached" });
  await until("volts beside the net", 20, async () =>
    /HT0\s*3\d\d\sV/.test((await bench.line("capacitor C20").textContent()) ?? ""),
  );
  await bench.line("capacitor C20").getByText("C20").hover();
  await bench.hoverBox.filter({ hasText: "135 %" }).waitFor();
  await bench.shot("20-web-workbench");
  await bench.closeHover();
});

test("an edit is checked by the worker", async () => {
  await bench.goTo(place(files[FILE], "C20 32u 250V", 8));
  await bench.overtype(4, "450V");
  await overload().waitFor({ state: "detached" });
});
