/** The workbench as a user has it: keys, pointer, and what is seen. */
import { mkdirSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { type Browser, chromium, type FrameLocator, type Locator, type Page } from "playwright-core";
import { browserPath } from "./install.ts";

const SHOTS = join(import.meta.dirname, "../shots");
const SIZE = { width: 1280, height: 800 };

export function openBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: browserPath(),
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
    timeout: 60_000,
  });
}

export interface Place {
  readonly line: number;
  readonly column: number;
}

/** Where `needle` stands in a text, counted from 1; `into` characters further on. */
export function place(text: string, needle: string, into = 0): Place {
  const at = text.indexOf(needle);
  if (at < 0) throw new Error(`"${needle}" is not in the text`);
  const before = text.slice(0, at + into).split("\n");
  return { line: before.length, column: before[before.length - 1].length + 1 };
}

export class Workbench {
  private constructor(readonly page: Page) {}

  static async open(browser: Browser, url: string): Promise<Workbench> {
    const page = await browser.newPage({ viewport: SIZE });
    page.setDefaultTimeout(30_000);
    await page.goto(url, { timeout: 60_000 });
    await page.locator(".explorer-folders-view .monaco-list-row").first().waitFor({ timeout: 60_000 });
    return new Workbench(page);
  }

  async reload(): Promise<void> {
    await this.page.reload({ timeout: 60_000 });
    await this.page.locator(".explorer-folders-view .monaco-list-row").first().waitFor({ timeout: 60_000 });
    await this.editor.locator(".view-line").first().waitFor({ timeout: 60_000 });
  }

  /** The editor that has the focus. */
  get editor(): Locator {
    return this.page.locator(".editor-group-container.active .monaco-editor[data-uri]").first();
  }

  async openFile(name: string): Promise<void> {
    await this.page.locator(".explorer-folders-view .monaco-list-row", { hasText: name }).first().dblclick();
    await this.page.locator(".tab.active", { hasText: name }).waitFor();
    await this.editor.locator(".view-line").first().waitFor();
  }

  async goTo({ line, column }: Place): Promise<void> {
    await this.page.keyboard.press("Control+G");
    await this.type(`${line}:${column}`);
    await this.page.keyboard.press("Enter");
    await this.page.locator(".quick-input-widget").waitFor({ state: "hidden" });
  }

  async command(title: string): Promise<void> {
    await this.page.keyboard.press("F1");
    await this.type(title);
    await this.page
      .locator(".quick-input-list .monaco-list-row.focused", { hasText: title })
      .first()
      .waitFor();
    await this.page.keyboard.press("Enter");
  }

  /** Types into the box that has just opened. */
  private async type(text: string): Promise<void> {
    const box = this.page.locator(".quick-input-widget input[type=text]").first();
    await box.waitFor();
    await this.page.keyboard.type(text);
  }

  async save(): Promise<void> {
    if ((await this.page.locator(".tab.active.dirty").count()) === 0) return;
    await this.page.keyboard.press("Control+S");
    await this.page.locator(".tab.active.dirty").waitFor({ state: "detached" });
  }

  /** Types over as many characters after the cursor. */
  async overtype(length: number, text: string): Promise<void> {
    for (let step = 0; step < length; step++) await this.page.keyboard.press("Shift+ArrowRight");
    await this.page.keyboard.type(text);
    await this.page.keyboard.press("Escape");
  }

  /** A line in sight that holds these words, with what is shown in it; the editor writes blanks as no-break ones. */
  line(words: string): Locator {
    return this.editor.locator(".view-line", { hasText: new RegExp(words.replaceAll(" ", "\\s")) }).first();
  }

  get hoverBox(): Locator {
    return this.page.locator(".monaco-hover:not(.hidden)", { hasText: /\S/ }).first();
  }

  /**
   * The hover at a place, asked for by keyboard.
   * @param words that it shows once the server has answered; before, the editor may show a finding's text alone
   */
  async hover(at: Place, words: string): Promise<Locator> {
    await this.goTo(at);
    const box = this.hoverBox.filter({ hasText: words });
    for (let attempt = 0; attempt < 5; attempt++) {
      await this.page.keyboard.press("Control+K");
      await this.page.keyboard.press("Control+I");
      const came = await box.waitFor({ timeout: 6_000 }).then(
        () => true,
        () => false,
      );
      if (came) return box;
      await this.page.keyboard.press("Escape");
    }
    throw new Error(`The hover never showed "${words}"`);
  }

  async closeHover(): Promise<void> {
    await this.page.keyboard.press("Escape");
    await this.page.mouse.move(640, 795);
    await this.page
      .locator(".monaco-hover:not(.hidden)")
      .first()
      .waitFor({ state: "detached" })
      .catch(() => undefined);
  }

  async openProblems(): Promise<void> {
    await this.page.keyboard.press("Control+Shift+M");
    await this.page.locator(".markers-panel").waitFor();
  }

  get problems(): Locator {
    return this.page.locator(".markers-panel .monaco-list-row");
  }

  get status(): Locator {
    return this.page.locator('.statusbar-item[id*="derate.status"]');
  }

  /** Renames what is under the cursor. @param before called while the box stands open */
  async rename(name: string, before?: () => Promise<void>): Promise<void> {
    await this.page.keyboard.press("F2");
    await this.page.waitForFunction("document.activeElement?.closest('.rename-box')");
    const box = this.page.locator(".rename-box input");
    await box.fill(name);
    await before?.();
    await box.press("Enter");
    await this.page.waitForFunction("!document.activeElement?.closest('.rename-box')");
  }

  /** The page within a panel that stands beside the editor. */
  async webview(title: string): Promise<FrameLocator> {
    await this.page.locator(".tab.active", { hasText: title }).waitFor();
    return this.webviewPage;
  }

  get webviewPage(): FrameLocator {
    return this.page.frameLocator("iframe.webview.ready").frameLocator("iframe#active-frame");
  }

  async closeTab(title: string): Promise<void> {
    await this.page.locator(".editor-group-container .tab.active", { hasText: title }).hover();
    await this.page
      .locator(".editor-group-container .tab.active", { hasText: title })
      .locator(".codicon-close")
      .click();
  }

  async closeNotices(): Promise<void> {
    await this.command("Notifications: Clear All Notifications");
  }

  async openWalkthrough(title: string): Promise<void> {
    await this.page.keyboard.press("F1");
    await this.type("Welcome: Open Walkthrough");
    await this.page.keyboard.press("Enter");
    await this.page.locator(".quick-input-list .monaco-list-row", { hasText: title }).first().click();
    await this.page.locator(".gettingStartedContainer", { hasText: title }).waitFor();
    // The pictures beside the steps need room.
    await this.page.keyboard.press("Control+J");
    await this.page.keyboard.press("Control+B");
  }

  async openSettings(words: string): Promise<void> {
    await this.page.keyboard.press("Control+,");
    await this.page.locator(".settings-editor .suggest-input-container").waitFor();
    await this.page.keyboard.type(words);
    await this.page
      .locator(".settings-editor .setting-item-contents", { hasText: "Derate" })
      .first()
      .waitFor();
  }

  async shot(name: string, of: Page | Locator = this.page): Promise<void> {
    mkdirSync(SHOTS, { recursive: true });
    await of.screenshot({ path: join(SHOTS, `${name}.png`), animations: "disabled", caret: "hide" });
  }

  /** Not among the pictures that are kept. */
  async shotOfFailure(name: string): Promise<void> {
    const path = join(tmpdir(), `derate-editor-failed-${name.replace(/\W+/g, "-")}.png`);
    await this.page.screenshot({ path, timeout: 10_000 }).catch(() => undefined);
    console.error(`What it looked like: ${path}`);
  }
}
