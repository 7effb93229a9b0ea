/** The extension in the desktop workbench: starts the server in a Node process of its own. */
import * as vscode from "vscode";
import { LanguageClient, TransportKind } from "vscode-languageclient/node";
import { clientOptions } from "./options.ts";
import { startClient } from "./start.ts";

/** A check leaves much behind and keeps little: without this the server takes 30 MB more, for garbage. */
const execArgv = ["--max-semi-space-size=4"];

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const module = vscode.Uri.joinPath(context.extensionUri, "dist", "lsp.js").fsPath;
  const options = clientOptions(context);
  // Where the server may keep what its code was compiled to, for the next start.
  const env = {
    DERATE_CODE_CACHE: vscode.Uri.joinPath(context.globalStorageUri, "code").fsPath,
    // The GNU C library keeps a store of freed memory for each thread, unless it is told how many.
    MALLOC_ARENA_MAX: "2",
  };
  await startClient(
    context,
    options.channel,
    new LanguageClient(
      "derate",
      "Derate",
      {
        run: { module, transport: TransportKind.ipc, options: { execArgv, env } },
        debug: {
          module,
          transport: TransportKind.ipc,
          options: { execArgv: [...execArgv, "--nolazy", "--inspect=6009"], env },
        },
      },
      options.client,
    ),
  );
}
