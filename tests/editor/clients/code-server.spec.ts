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
const files = {
  [FILE]: sound.replace("C20 32u 450V", "C20 32u 250V"),
  "magpie-30.ampnet": sample("magpie-30.ampnet"),
};

const FIRST = /First findings \d+ ms after activation; the server was up after \d+ ms/g;

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

/** The file as it is now, by saving it. */
async function saved(): Promise<string> {
  await bench.save();
  // The editor writes a file by emptying it first.
  return until("the file is written", 10, () => {
    const text = readFileSync(join(server.folder, FILE), "utf8");
    return text.endsWith("gnd\n") && text;
  });
}
const goTo = async (needle: string, into = 0) => bench.goTo(place(await saved(), needle, into));
const hover = async (needle: string, into: number, words: string) =>
  bench.hover(place(await saved(), needle, into), words);
/** Types over a piece of text that stands after `before`. */
async function overtype(before: string, old: string, text: string): Promise<void> {
  await goTo(`${before}${old}`, before.length);
  await bench.overtype(old.length, text);
}
const showsState = (words: string) => bench.status.filter({ hasText: words }).waitFor();
const overload = () => bench.problems.filter({ hasText: "C20 sees 3" });

test("a fault is underlined, and has a row in Problems", async () => {
  const began = performance.now();
  await bench.openFile(FILE);
  await bench.page.locator(".squiggly-error").first().waitFor({ state: "attached", timeout: 60_000 });
  const seen = performance.now() - began;
  const told = await until("the log tells the time", 10, () => server.log().match(FIRST)?.[0]);
  console.log(`${told}; underlined ${Math.round(seen)} ms after the double click.`);
  await bench.openProblems();
  await overload().waitFor();
  await goTo("C20 32u");
  await until("volts beside the net", 10, async () =>
    /HT0\s*3\d\d\sV/.test((await bench.line("capacitor C20").textContent()) ?? ""),
  );
  await bench.shot("01-problems");
});

test("a second start has the compiled code at hand", async () => {
  // The server keeps its compiled code some seconds after the first start.
  await until("compiled code is kept", 30, () => server.keepsCode());
  await bench.reload();
  await bench.page.locator(".squiggly-error").first().waitFor({ state: "attached", timeout: 60_000 });
  const told = await until(
    "the log tells the time again",
    10,
    () => [...server.log().matchAll(FIRST)][1]?.[0],
  );
  console.log(`Again, with compiled code kept: ${told}.`);
  await bench.openProblems();
});

test("resting on a part shows its margins", async () => {
  const box = await hover("C20 32u", 1, "capacitor voltage");
  const words = (await box.textContent()) ?? "";
  expect(words).toContain("338 V");
  expect(words).toContain("250 V");
  expect(words).toContain("135 %");
  await bench.shot("02-hover-part");
  await bench.closeHover();
});

test("resting the pointer on a net shows its volts, with the cautions", async () => {
  const word = bench.line("resistor R21").getByText("HT1", { exact: false }).last();
  const box = bench.hoverBox.filter({ hasText: "low mains" });
  // A pointer that came to rest while the last hover was still closing brings none: move it off and on again, as one does.
  for (let attempt = 0; attempt < 4; attempt++) {
    await bench.page.mouse.move(5, 5);
    await word.hover();
    const shown = await box.waitFor({ timeout: 5000 }).then(
      () => true,
      () => false,
    );
    if (shown) break;
  }
  await box.waitFor();
  const words = (await box.textContent()) ?? "";
  expect(words).toMatch(/idle/);
  expect(words).toMatch(/Lethal voltages/);
  await bench.shot("03-hover-net");
  await bench.closeHover();
});

test("resting on a valve shows its operating point", async () => {
  const box = await hover("V2 EL84", 1, "plate dissipation");
  expect(await box.textContent()).toContain("97 %");
  await bench.shot("04-hover-valve");
  await bench.closeHover();
});

test("a new value typed, and the finding goes", async () => {
  await overload().waitFor();
  await overtype("C20 32u ", "250V", "450V");
  await overload().waitFor({ state: "detached" });
  await bench.shot("05-typed");
  await overtype("C20 32u ", "450V", "250V");
  await overload().waitFor();
});

test("a quick fix is offered, and taken", async () => {
  await goTo("C20 32u 250V", 9);
  await bench.page.keyboard.press("Control+.");
  const menu = bench.page.locator(".action-widget");
  await menu
    .locator(".monaco-list-row", { hasText: /385\s?V/ })
    .first()
    .waitFor();
  await bench.shot("06-quick-fix");
  await bench.page.keyboard.press("Enter");
  await overload().waitFor({ state: "detached" });
  expect(await saved()).toContain("C20 32u 385V electrolytic");
  await bench.shot("07-fixed");
});

test("a net is renamed at every mention, but not into another net", async () => {
  const before = (await saved()).match(/\bHT1\b/g)?.length;
  await goTo("R21 270R");
  await goTo("-- HT1", 4);
  await bench.rename("B1", () => bench.shot("08-rename"));
  await until("HT1 is gone", 10, async () => !/\bHT1\b/.test(await saved()));
  expect((await saved()).match(/\bB1\b/g)?.length).toBe(before);

  await goTo("-- B1", 4);
  await bench.rename("HT2");
  const refusal = bench.page.locator(".monaco-editor-overlaymessage, .notification-toast", {
    hasText: /HT2/,
  });
  await refusal.first().waitFor();
  await bench.shot("09-rename-refused");
  expect(await saved()).toMatch(/\bB1\b/);
  await bench.page.keyboard.press("Escape");
  await bench.closeNotices();
});

test("the volts beside nets follow the state", async () => {
  const line = bench.line("capacitor C21");
  const volts = async () => Number(/B1\s*(\d+)\s*V/.exec((await line.textContent()) ?? "")?.[1]);
  const idle = await volts();
  expect(idle).toBeGreaterThan(250);
  await bench.command("Derate: Next state");
  const without = await until("the hints follow", 10, async () => {
    const now = await volts();
    return now > idle && now;
  });
  expect(without).toBeGreaterThan(idle + 20);
  await showsState("output valves out, nominal mains");
  await goTo("C21 32u");
  await bench.shot("10-next-state");
  await bench.command("Derate: Next mains level");
  await until("the hints follow the mains", 10, async () => (await volts()) > without);
  await bench.command("Derate: Next state");
  await showsState("cold start, high mains");
  await bench.command("Derate: Next state");
  await showsState("idle, high mains");
});

test("the document is formatted", async () => {
  const before = await saved();
  await goTo("HT2 -- resistor R23", 3);
  await bench.overtype(0, "        ");
  expect(await saved()).not.toContain("HT2 -- resistor R23");
  await bench.command("Format Document");
  const after = await until("the line is in order", 10, async () => {
    const text = await saved();
    return text.includes("HT2 -- resistor R23") && text;
  });
  // The net named B1 is shorter than its neighbours: the path marks of its lines stand below theirs now.
  expect(after).toContain("B1  -- capacitor C21");
  const blanksAside = (text: string) => text.replace(/ +/g, " ");
  expect(blanksAside(after)).toBe(blanksAside(before));
  await bench.shot("11-formatted");
});

test("the voltage chart opens beside the text", async () => {
  await bench.command("Derate: Show voltage chart");
  const chart = await bench.webview("Voltage chart");
  await chart.locator("table").first().waitFor();
  const words = (await chart.locator("body").textContent()) ?? "";
  expect(words).toContain("Fantail 5");
  expect(words).toMatch(/kill/);
  await bench.shot("12-chart");
  await bench.closeTab("Voltage chart");
});

test("the supply picture opens beside the text", async () => {
  await bench.command("Derate: Show supply picture");
  const picture = await bench.webview("Supply");
  await picture.locator("svg").first().waitFor();
  expect(await picture.locator("body").textContent()).toMatch(/kill/);
  await bench.shot("13-supply");
  await bench.closeTab("Supply");
});

test("completion, signature help and the outline", async () => {
  await bench.page.keyboard.press("Control+End");
  await bench.page.keyboard.type("HT3 -- res");
  await bench.page.keyboard.press("Control+Space");
  const list = bench.page.locator(".suggest-widget.visible .monaco-list-row");
  await list.filter({ hasText: "resistor" }).first().waitFor();
  // What does not begin so is not offered: the letters typed count as one word.
  await until(
    "the list holds what fits",
    10,
    async () => (await list.filter({ hasText: "capacitor" }).count()) === 0,
  );
  await bench.shot("14-completion");
  await bench.page.keyboard.press("Escape");
  await bench.page.keyboard.type("istor R99 4k7 ");
  await bench.page.keyboard.press("Escape");
  await bench.page.keyboard.press("Control+Shift+Space");
  await bench.page.locator(".parameter-hints-widget.visible").waitFor();
  await bench.shot("15-signature");
  await bench.page.keyboard.press("Escape");
  await bench.page.keyboard.press("Shift+Home");
  await bench.page.keyboard.press("Delete");
  await saved();
  await bench.page.locator(".pane-header", { hasText: "Outline" }).click();
  await bench.page.locator(".outline-tree .monaco-list-row").first().waitFor();
  await bench.shot("16-outline");
  await bench.page.locator(".pane-header", { hasText: "Outline" }).click();
});

test("a server that dies is started again, and that is said once", async () => {
  const [first, ...others] = server.serverIds();
  expect(others).toEqual([]);
  process.kill(first, "SIGKILL");
  const said = bench.page.locator(".notification-toast", { hasText: "server stopped and was started again" });
  await said.waitFor();
  await bench.shot("17-restarted");
  const second = await until("a new server", 20, () => server.serverIds().find((id) => id !== first));
  // It checks what is typed now, and shows the volts of the state and mains that were chosen before.
  await overtype("C20 32u ", "385V", "250V");
  await showsState("idle, high mains · 1 over");
  await until("the hints are those of high mains", 10, async () =>
    /HT0\s*32\d\sV/.test((await bench.line("capacitor C20").textContent()) ?? ""),
  );
  await bench.closeNotices();
  process.kill(second, "SIGKILL");
  await until("a third server", 20, () => server.serverIds().find((id) => id !== second));
  await overtype("C20 32u ", "250V", "450V");
  await showsState("idle, high mains · 0 over");
  expect(await said.count()).toBe(0);
});

test("a finding is explained, with its caution", async () => {
  await overtype("C20 32u ", "450V", "250V");
  await showsState("1 over");
  await goTo("C20 32u 250V", 9);
  await bench.command("Derate: Explain finding");
  await bench.webviewPage.getByText("rating/capacitor-voltage").first().waitFor();
  await bench.shot("21-explained");
  await bench.closeTab("Preview");
});

test("a new amplifier is begun from a template, and checked before it is saved", async () => {
  await bench.command("Derate: New amplifier from template");
  await bench.page.locator(".quick-input-list .monaco-list-row", { hasText: "EL84" }).first().click();
  await bench.page.locator(".tab.active", { hasText: "Untitled" }).waitFor();
  await bench.status.filter({ hasText: /\d over · \d+ near/ }).waitFor();
  await until("volts beside the nets", 10, async () =>
    /2\d\d\sV\sac/.test((await bench.line("fuse F1").textContent()) ?? ""),
  );
  await bench.shot("22-new-amplifier");
  await bench.closeTab("Untitled");
  await bench.page.locator(".monaco-dialog-box").getByRole("button", { name: "Don't Save" }).click();
});

test("the walkthrough, and the settings", async () => {
  await bench.openWalkthrough("Check your first amplifier");
  for (const [index, step] of ["Write an amplifier", "Read its voltages", "See what is over"].entries()) {
    await bench.page.locator(".getting-started-step", { hasText: step }).click();
    await bench.webviewPage.getByRole("heading", { name: step }).waitFor();
    await bench.shot(`18-walkthrough-${index + 1}`);
  }
  await bench.closeTab("Walkthrough");
  await bench.openSettings("@ext:derate.derate");
  await bench.shot("19-settings");
  await bench.closeTab("Settings");
});
