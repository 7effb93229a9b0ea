/** What both workbenches do once the client is made: commands, status item, panels. */
import type * as vscode from "vscode";
import { type BaseLanguageClient, State } from "vscode-languageclient";
import { registerCommands } from "./commands.ts";
import { Conditions } from "./conditions.ts";
import { STATUS, type Status } from "./messages.ts";
import { redrawPanels } from "./panel.ts";
import { StatusItem } from "./status-item.ts";

export async function startClient(
  context: vscode.ExtensionContext,
  channel: vscode.LogOutputChannel,
  client: BaseLanguageClient,
): Promise<void> {
  const began = performance.now();
  let answered = 0;
  let told = false;
  const conditions = new Conditions(client);
  const status = new StatusItem(conditions);
  context.subscriptions.push(status, conditions, client);
  client.onNotification(STATUS, (message: Status) => {
    conditions.offer(message.states);
    status.show(message);
    void redrawPanels(message.uri);
    if (told) return;
    told = true;
    channel.info(
      `First findings ${Math.round(performance.now() - began)} ms after activation; the server was up after ${Math.round(answered)} ms.`,
    );
  });
  context.subscriptions.push(
    client.onDidChangeState(({ newState }) => {
      // Figures of a server that is gone are nobody's; a new one has yet to learn what is shown.
      if (newState === State.Stopped) status.forget();
      else if (newState === State.Running) void conditions.resend();
    }),
  );
  registerCommands(context, client, channel, conditions);
  await client.start();
  answered = performance.now() - began;
}
