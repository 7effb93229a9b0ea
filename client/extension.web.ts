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
    client.onRequest(LIST_NETLISTS, ({ folder }: { folder: string }) =>
      netlistsBelow(vscode.Uri.parse(folder)),
    ),
  );
  await startClient(context, options.channel, client);
}

/** Folders that hold no amplifiers of anyone's own, and how far a search goes. */
const PASSED_OVER = new Set(["node_modules", "dist", "out"]);
const MOST_FILES = 10_000;

/** Folder by folder: a search needs a provider of its own, which a folder that no disk holds may not have. */
async function netlistsBelow(folder: vscode.Uri): Promise<string[]> {
  const found: string[] = [];
  const walk = async (place: vscode.Uri): Promise<void> => {
    const entries = await vscode.workspace.fs.readDirectory(place).then(undefined, () => []);
    for (const [name, type] of entries) {
      if (found.length >= MOST_FILES) return;
      const below = vscode.Uri.joinPath(place, name);
      if (type === vscode.FileType.Directory) {
        if (!name.startsWith(".") && !PASSED_OVER.has(name)) await walk(below);
      } else if (/\.ampnet$/i.test(name)) found.push(below.toString());
    }
  };
  await walk(folder);
  return found;
}
