/** The state and mains level whose volts are shown beside nets. Chosen in the settings, or stepped by command. */
import * as vscode from "vscode";
import type { BaseLanguageClient } from "vscode-languageclient";
import { type Mains, SET_CONDITION, type State } from "./messages.ts";

export const STATE_WORDS: Readonly<Record<State, string>> = {
  cold: "cold start",
  standby: "standby",
  idle: "idle",
  drive: "full drive",
  pulled: "output valves out",
};

const LEVELS: readonly Mains[] = ["low", "nominal", "high"];

export class Conditions implements vscode.Disposable {
  readonly #changed = new vscode.EventEmitter<void>();
  readonly onChange = this.#changed.event;
  readonly #listener: vscode.Disposable;
  #states: readonly State[] = ["cold", "idle"];
  /** By command, away from the settings. */
  #stepped = false;
  state: State = "idle";
  mains: Mains = "nominal";

  constructor(private readonly client: BaseLanguageClient) {
    this.#read();
    this.#listener = vscode.workspace.onDidChangeConfiguration((event) => {
      if (event.affectsConfiguration("derate.hints")) this.#read();
    });
  }

  /** The states that the amplifier in sight has. */
  offer(states: readonly State[]): void {
    if (states.length > 0) this.#states = states;
  }

  async nextState(): Promise<void> {
    this.state = this.#states[(this.#states.indexOf(this.state) + 1) % this.#states.length];
    await this.#tell();
  }

  async nextMains(): Promise<void> {
    this.mains = LEVELS[(LEVELS.indexOf(this.mains) + 1) % LEVELS.length];
    await this.#tell();
  }

  /** A server that has just started knows the settings alone. */
  async resend(): Promise<void> {
    if (this.#stepped) await this.client.sendNotification(SET_CONDITION, this.#condition());
  }

  #condition(): { readonly state: State; readonly mains: Mains } {
    return { state: this.state, mains: this.mains };
  }

  #read(): void {
    this.#stepped = false;
    const settings = vscode.workspace.getConfiguration("derate.hints");
    this.state = settings.get<State>("state", "idle");
    this.mains = settings.get<Mains>("mains", "nominal");
    this.#changed.fire();
  }

  async #tell(): Promise<void> {
    this.#stepped = true;
    this.#changed.fire();
    if (this.client.isRunning()) await this.client.sendNotification(SET_CONDITION, this.#condition());
  }

  dispose(): void {
    this.#listener.dispose();
    this.#changed.dispose();
  }
}
