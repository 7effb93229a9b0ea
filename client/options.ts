/** How the client behaves, the same in both workbenches. */
import * as vscode from "vscode";
import {
  CloseAction,
  ErrorAction,
  type ErrorHandler,
  type LanguageClientOptions,
} from "vscode-languageclient";

/** A server that dies is started again, at most this often within the window. */
const RESTARTS = 4;
const WINDOW_MILLISECONDS = 3 * 60 * 1000;

export function clientOptions(context: vscode.ExtensionContext): {
  readonly client: LanguageClientOptions;
  readonly channel: vscode.LogOutputChannel;
} {
  const channel = vscode.window.createOutputChannel("Derate", { log: true });
  context.subscriptions.push(channel);
  return {
    channel,
    client: {
      documentSelector: [{ language: "ampnet" }],
      outputChannel: channel,
      diagnosticCollectionName: "derate",
      // Without onChange the client would not ask again because of typing.
      diagnosticPullOptions: { onChange: true, onTabs: true },
      errorHandler: restarting(channel),
      markdown: { isTrusted: false, supportHtml: false },
    },
  };
}

function restarting(channel: vscode.LogOutputChannel): ErrorHandler {
  const starts: number[] = [];
  let told = false;
  return {
    error: (error, _message, count) => {
      channel.error(error.message);
      return { action: (count ?? 0) <= 3 ? ErrorAction.Continue : ErrorAction.Shutdown, handled: true };
    },
    closed: () => {
      const now = Date.now();
      starts.push(now);
      while (starts.length > 0 && now - starts[0] > WINDOW_MILLISECONDS) starts.shift();
      if (starts.length > RESTARTS) {
        void vscode.window.showErrorMessage(
          'Derate\'s server stopped again and again and is left stopped. Its log says why; "Derate: Restart server" tries anew.',
        );
        return { action: CloseAction.DoNotRestart, handled: true };
      }
      channel.warn("The server stopped and is started again.");
      if (!told) void vscode.window.showWarningMessage("Derate's server stopped and was started again.");
      told = true;
      return { action: CloseAction.Restart, handled: true };
    },
  };
}
