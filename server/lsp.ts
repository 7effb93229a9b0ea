/** The language server for Node, over stdio or the channel that the client started it with. */
import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import {
  createConnection,
  ProposedFeatures,
  StreamMessageReader,
  StreamMessageWriter,
} from "vscode-languageserver/node";
import { LARGEST_TEXT, localDay, type ServerHost } from "./lsp/host.ts";
import { startSession } from "./lsp/session.ts";
import { unread } from "./read-text.ts";
import { pageOf } from "./rules/index.ts";

const decoder = new TextDecoder("utf-8", { fatal: true });
/** Folders that hold no amplifiers of anyone's own; the command line passes over the same. */
const PASSED_OVER = new Set(["node_modules"]);
const MOST_FILES = 10_000;

const host: ServerHost = {
  async readText(uri, unreadable) {
    if (!uri.startsWith("file:")) return undefined;
    try {
      const bytes = await readFile(fileURLToPath(uri));
      return bytes.length > LARGEST_TEXT ? undefined : decoder.decode(bytes);
    } catch (error) {
      const file = unreadable && unread(error);
      if (file) unreadable(file);
      return undefined;
    }
  },
  async listNetlists(folder) {
    const found: string[] = [];
    if (!folder.startsWith("file:")) return found;
    const walk = async (path: string): Promise<void> => {
      const entries = await readdir(path, { withFileTypes: true }).catch(() => []);
      for (const entry of entries.sort((one, other) => one.name.localeCompare(other.name))) {
        if (found.length >= MOST_FILES) return;
        const below = join(path, entry.name);
        if (entry.isDirectory()) {
          if (!entry.name.startsWith(".") && !PASSED_OVER.has(entry.name)) await walk(below);
        } else if (/\.ampnet$/i.test(entry.name)) found.push(pathToFileURL(below).href);
      }
    };
    await walk(fileURLToPath(folder));
    return found;
  },
  now: () => performance.now(),
  today: () => localDay(new Date()),
  pause: () => new Promise((resolve) => setImmediate(resolve)),
  pageOf: (rule) => pathToFileURL(join(__dirname, "..", pageOf(rule))).href,
};

const byArgument = process.argv.some((argument) => /^--(node-ipc|stdio|socket|pipe)/.test(argument));
const connection = byArgument
  ? createConnection(ProposedFeatures.all)
  : createConnection(
      ProposedFeatures.all,
      new StreamMessageReader(process.stdin),
      new StreamMessageWriter(process.stdout),
    );
// Whatever goes to standard output belongs to the protocol.
console.log = (...words: unknown[]) => connection.console.log(words.join(" "));
process.on("uncaughtException", (error) =>
  connection.console.error(`A fault of ours: ${error.stack ?? error.message}`),
);
process.on("unhandledRejection", (reason) => connection.console.error(`A fault of ours: ${String(reason)}`));
startSession(connection, host);
