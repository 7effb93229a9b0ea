/** The extension in the desktop workbench: starts the server in a Node process of its own. */
import * as vscode from "vscode";
import { LanguageClient, TransportKind } from "vscode-languageclient/node";
import { clientOptions } from "./options.ts";
import { startClient } from "./start.ts";

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const module = vscode.Uri.joinPath(context.extensionUri, "dist", "lsp.js").fsPath;
  const options = clientOptions(context);
  await startClient(
    context,
    options.channel,
    new LanguageClient(
      "derate",
      "Derate",
      {
        run: { module, transport: TransportKind.ipc },
        debug: {
          module,
          transport: TransportKind.ipc,
          options: { execArgv: ["--nolazy", "--inspect=6009"] },
        },
      },
      options.client,
    ),
  );
}
