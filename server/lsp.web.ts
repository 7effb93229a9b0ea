/** The language server for a browser worker. It has no file system: the client reads files for it. */
import { BrowserMessageReader, BrowserMessageWriter, createConnection } from "vscode-languageserver/browser";
import { LARGEST_TEXT, localDay, type ServerHost } from "./lsp/host.ts";
import { LIST_NETLISTS, READ_TEXT } from "./lsp/protocol.ts";
import { startSession } from "./lsp/session.ts";

declare const self: DedicatedWorkerGlobalScope;

const connection = createConnection(new BrowserMessageReader(self), new BrowserMessageWriter(self));

const host: ServerHost = {
  async readText(uri) {
    const text = await connection.sendRequest<string | null>(READ_TEXT, { uri }).catch(() => null);
    return text === null || text.length > LARGEST_TEXT ? undefined : text;
  },
  listNetlists: (folder) => connection.sendRequest<string[]>(LIST_NETLISTS, { folder }).catch(() => []),
  now: () => performance.now(),
  today: () => localDay(new Date()),
  pause: () => new Promise((resolve) => setTimeout(resolve, 0)),
  // Pages ship with the extension and are shown by the client; a worker has no address for them.
  pageOf: () => undefined,
};

startSession(connection, host);
