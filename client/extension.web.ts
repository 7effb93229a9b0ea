/** The extension in a browser-only workbench: starts the server in a worker and reads files for it. */
import * as vscode from "vscode";
import { BrowserMessageReader, BrowserMessageWriter, LanguageClient } from "vscode-languageclient/browser";
import { LIST_NETLISTS, READ_TEXT } from "./messages.ts";
import { clientOptions } from "./options.ts";
import { startClient } from "./start.ts";

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const bundle = vscode.Uri.joinPath(context.extensionUri, "dist", "lsp.web.js").toString(true);
  let worker: Worker | undefined;
  // The streams are made here: the workbench puts a Worker of its own in place of the browser's, and the client would
  // not know it for one. Each start has a new worker.
  const connect = async () => {
    worker?.terminate();
    worker = new Worker(bundle);
    return { reader: new BrowserMessageReader(worker), writer: new BrowserMessageWriter(worker) };
  };
  const options = clientOptions(context);
  const client = new LanguageClient("derate", "Derate", connect, options.client);
  const decoder = new TextDecoder("utf-8", { fatal: true });
  context.subscriptions.push(
    { dispose: () => worker?.terminate() },
    client.onRequest(READ_TEXT, async ({ uri }: { uri: string }) => {
      try {
        return decoder.decode(await vscode.workspace.fs.readFile(vscode.Uri.parse(uri)));
      } catch {
        return null;
      }
    }),
    client.onRequest(LIST_NETLISTS, async ({ folder }: { folder: string }) => {
      const pattern = new vscode.RelativePattern(vscode.Uri.parse(folder), "**/*.ampnet");
      return (await vscode.workspace.findFiles(pattern)).map((uri) => uri.toString());
    }),
  );
  await startClient(context, options.channel, client);
}
