/** The built server as a process, driven over stdio with the protocol library: what any client sees. */
import { type ChildProcess, execFileSync, spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { afterAll, beforeAll } from "vitest";
import {
  createProtocolConnection,
  type Diagnostic,
  type ProtocolConnection,
  StreamMessageReader,
  StreamMessageWriter,
} from "vscode-languageserver-protocol/node";

const root = resolve(import.meta.dirname, "../..");

/** Builds the program for the tests of a file. @returns the folder that it is in, once `beforeAll` has run */
export function built(): { readonly dist: string } {
  const made = { dist: "" };
  beforeAll(() => {
    made.dist = join(mkdtempSync(join(tmpdir(), "derate-built-")), "dist");
    execFileSync(process.execPath, ["scripts/build.mjs", made.dist], { cwd: root });
  });
  afterAll(() => rmSync(join(made.dist, ".."), { recursive: true, force: true }));
  return made;
}

export type Pulled = {
  readonly kind: "full" | "unchanged";
  readonly resultId?: string;
  readonly items: Diagnostic[];
};

export class Client {
  readonly pushed: { uri: string; version?: number; diagnostics: Diagnostic[] }[] = [];
  readonly log: string[] = [];
  refreshes = 0;

  private constructor(
    readonly child: ChildProcess,
    readonly connection: ProtocolConnection,
  ) {}

  /**
   * @param folder the workspace's, absolute
   * @param flags of Node
   */
  static async start(
    dist: string,
    folder?: string,
    pulls = true,
    { flags = [], env = {} }: { readonly flags?: readonly string[]; readonly env?: NodeJS.ProcessEnv } = {},
  ): Promise<Client> {
    const child = spawn(process.execPath, [...flags, join(dist, "lsp.js"), "--stdio"], {
      stdio: ["pipe", "pipe", "inherit"],
      env: { ...process.env, ...env },
    });
    const connection = createProtocolConnection(
      new StreamMessageReader(child.stdout as NodeJS.ReadableStream),
      new StreamMessageWriter(child.stdin as NodeJS.WritableStream),
    );
    const client = new Client(child, connection);
    connection.onNotification("textDocument/publishDiagnostics", (message) => {
      client.pushed.push(message);
    });
    connection.onNotification("window/logMessage", ({ message }: { message: string }) => {
      client.log.push(message);
    });
    connection.onRequest("client/registerCapability", () => null);
    connection.onRequest("workspace/diagnostic/refresh", () => {
      client.refreshes++;
      return null;
    });
    connection.onRequest("workspace/configuration", ({ items }: { items: unknown[] }) =>
      items.map(() => ({})),
    );
    connection.listen();
    await connection.sendRequest("initialize", {
      processId: process.pid,
      rootUri: null,
      workspaceFolders: folder === undefined ? null : [{ uri: pathToFileURL(folder).href, name: "amps" }],
      capabilities: {
        textDocument: pulls ? { diagnostic: {} } : { publishDiagnostics: {} },
        workspace: {
          configuration: true,
          workspaceFolders: true,
          diagnostics: { refreshSupport: true },
          didChangeWatchedFiles: { dynamicRegistration: true },
        },
      },
    });
    await connection.sendNotification("initialized", {});
    return client;
  }

  open(uri: string, text: string, version = 1): Promise<void> {
    return this.connection.sendNotification("textDocument/didOpen", {
      textDocument: { uri, languageId: "ampnet", version, text },
    });
  }

  change(uri: string, version: number, text: string): Promise<void> {
    return this.connection.sendNotification("textDocument/didChange", {
      textDocument: { uri, version },
      contentChanges: [{ text }],
    });
  }

  close(uri: string): Promise<void> {
    return this.connection.sendNotification("textDocument/didClose", { textDocument: { uri } });
  }

  /** Tells the server that files on disk have changed. */
  changed(paths: readonly string[], type: 1 | 2 | 3 = 2): Promise<void> {
    return this.connection.sendNotification("workspace/didChangeWatchedFiles", {
      changes: paths.map((path) => ({ uri: pathToFileURL(path).href, type })),
    });
  }

  /** Asks again as long as the server says that a newer text is on its way, as a client does. */
  async pull(uri: string, previousResultId?: string): Promise<Pulled> {
    for (;;) {
      try {
        return await this.connection.sendRequest<Pulled>("textDocument/diagnostic", {
          textDocument: { uri },
          previousResultId,
        });
      } catch (error) {
        if ((error as { code?: number }).code !== -32802) throw error;
      }
    }
  }

  async pullFolder(): Promise<{ uri: string; items: Diagnostic[] }[]> {
    const { items } = await this.connection.sendRequest<{ items: { uri: string; items?: Diagnostic[] }[] }>(
      "workspace/diagnostic",
      { previousResultIds: [] },
    );
    return items.map(({ uri, items: found }) => ({ uri, items: found ?? [] }));
  }

  async until(wanted: () => boolean, what: string): Promise<void> {
    for (let turn = 0; turn < 1200 && !wanted(); turn++) await new Promise((done) => setTimeout(done, 25));
    if (!wanted()) throw new Error(`never: ${what}; the log:\n${this.log.join("\n")}`);
  }

  /** Throws where the server has died meanwhile. */
  async stop(): Promise<void> {
    if (this.child.exitCode !== null) throw new Error(`the server ended with ${this.child.exitCode}`);
    await this.connection.sendRequest("shutdown");
    await this.connection.sendNotification("exit");
    this.connection.dispose();
    this.child.kill();
  }
}
