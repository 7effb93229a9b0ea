/** The item in the status bar: state, mains level, and what the last check found. It never says "safe". */
import * as vscode from "vscode";
import { type Conditions, STATE_WORDS } from "./conditions.ts";
import type { Status } from "./messages.ts";

export class StatusItem implements vscode.Disposable {
  readonly #item = vscode.window.createStatusBarItem("derate.status", vscode.StatusBarAlignment.Left, 50);
  readonly #byUri = new Map<string, Status>();
  readonly #listeners: vscode.Disposable[];

  constructor(private readonly conditions: Conditions) {
    this.#item.name = "Derate";
    this.#item.command = "derate.nextState";
    this.#listeners = [
      vscode.window.onDidChangeActiveTextEditor(() => this.#draw()),
      conditions.onChange(() => this.#draw()),
    ];
    this.#draw();
  }

  show(status: Status): void {
    this.#byUri.set(status.uri, status);
    this.#draw();
  }

  /** What was found is no longer known. */
  forget(): void {
    this.#byUri.clear();
    this.#draw();
  }

  #draw(): void {
    const document = vscode.window.activeTextEditor?.document;
    if (document?.languageId !== "ampnet") {
      this.#item.hide();
      return;
    }
    const status = this.#byUri.get(document.uri.toString());
    const condition = `${STATE_WORDS[this.conditions.state]}, ${this.conditions.mains} mains`;
    const found = status
      ? ` · ${status.errors} over · ${status.warnings} near · ${status.unchecked} unchecked`
      : " · not checked yet";
    this.#item.text = `$(zap) ${condition}${found}`;
    this.#item.tooltip = status
      ? `${status.amplifier ?? "This amplifier"}: ${status.checked} limits checked, ${status.unchecked} could not be. What was not checked has not passed. Click for the next state.`
      : "Not checked yet.";
    this.#item.backgroundColor =
      status && status.errors > 0 ? new vscode.ThemeColor("statusBarItem.errorBackground") : undefined;
    this.#item.show();
  }

  dispose(): void {
    this.#item.dispose();
    for (const listener of this.#listeners) listener.dispose();
  }
}
