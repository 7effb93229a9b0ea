/** The built server over stdio, driven with the protocol library: what any client sees. */
import { type ChildProcess, spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import {
  createProtocolConnection,
  type Diagnostic,
  type ProtocolConnection,
  StreamMessageReader,
  StreamMessageWriter,
} from "vscode-languageserver-protocol/node";

const SERVER = "dist/lsp.js";
const URI = "file:///bench/divider.ampnet";
const TEXT = `amp "Bench"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 100k 2W 0% -- tap
tap -- resistor R2 50k 1W 0% -- gnd
tap -- capacitor C1 10u 63V electrolytic -- gnd
`;

interface Client {
  readonly child: ChildProcess;
  readonly connection: ProtocolConnection;
  readonly pushed: { uri: string; version?: number; diagnostics: Diagnostic[] }[];
  readonly capabilities: Record<string, unknown>;
}

async function start(textDocument: object): Promise<Client> {
  const child = spawn(process.execPath, [SERVER, "--stdio"], { stdio: ["pipe", "pipe", "inherit"] });
  const connection = createProtocolConnection(
    new StreamMessageReader(child.stdout as NodeJS.ReadableStream),
    new StreamMessageWriter(child.stdin as NodeJS.WritableStream),
  );
  const pushed: Client["pushed"] = [];
  connection.onNotification("textDocument/publishDiagnostics", (message) => {
    pushed.push(message);
  });
  connection.onRequest("client/registerCapability", () => null);
  connection.onRequest("workspace/configuration", ({ items }: { items: unknown[] }) => items.map(() => ({})));
  connection.listen();
  const { capabilities } = await connection.sendRequest<{ capabilities: Record<string, unknown> }>(
    "initialize",
    {
      processId: process.pid,
      rootUri: null,
      workspaceFolders: null,
      capabilities: {
        textDocument,
        workspace: { configuration: true },
        general: { positionEncodings: ["utf-8", "utf-16"] },
      },
    },
  );
  await connection.sendNotification("initialized", {});
  return { child, connection, pushed, capabilities };
}

async function stop({ connection, child }: Client): Promise<void> {
  await connection.sendRequest("shutdown");
  await connection.sendNotification("exit");
  connection.dispose();
  child.kill();
}

const open = (client: Client, uri: string, text: string, version = 1) =>
  client.connection.sendNotification("textDocument/didOpen", {
    textDocument: { uri, languageId: "ampnet", version, text },
  });
const change = (client: Client, version: number, contentChanges: object[]) =>
  client.connection.sendNotification("textDocument/didChange", {
    textDocument: { uri: URI, version },
    contentChanges,
  });
type Pulled = { kind: "full" | "unchanged"; resultId?: string; items: Diagnostic[] };
const pull = (client: Client, previousResultId?: string, uri = URI) =>
  client.connection.sendRequest<Pulled>("textDocument/diagnostic", {
    textDocument: { uri },
    previousResultId,
  });
const codes = (pulled: Pulled) => pulled.items.map(({ code }) => code);

it("is built", () => {
  expect(existsSync(SERVER), "run npm run build first").toBe(true);
});

describe("a client that pulls", () => {
  let client: Client;
  beforeAll(async () => {
    client = await start({ diagnostic: {} });
    await open(client, URI, TEXT);
  });
  afterAll(() => stop(client));

  it("is told UTF-16, incremental sync, and pull with other files in play", () => {
    expect(client.capabilities.positionEncoding).toBe("utf-16");
    expect(client.capabilities.textDocumentSync).toMatchObject({ change: 2 });
    expect(client.capabilities.diagnosticProvider).toMatchObject({
      interFileDependencies: true,
      workspaceDiagnostics: true,
    });
  });

  it("gets findings, then unchanged, then new ones after an edit, and none by push", async () => {
    const first = await pull(client);
    expect(codes(first)).toContain("rating/capacitor-voltage");
    expect((await pull(client, first.resultId)).kind).toBe("unchanged");
    // 63V -> 160V
    await change(client, 2, [
      { range: { start: { line: 4, character: 24 }, end: { line: 4, character: 26 } }, text: "160" },
    ]);
    const second = await pull(client, first.resultId);
    expect(second.kind).toBe("full");
    expect(codes(second)).not.toContain("rating/capacitor-voltage");
    expect(client.pushed).toEqual([]);
  });

  it("counts characters in UTF-16 behind an astral one", async () => {
    const uri = "file:///bench/astral.ampnet";
    await open(client, uri, `# 𝕍 𝕍\na -- resitor R1 1k -- gnd # 𝕍\n`);
    const found = await pull(client, undefined, uri);
    const slip = found.items.find(({ message }) => String(message).includes("resitor"));
    expect(slip?.range.start).toEqual({ line: 1, character: 5 });
  });

  it("answers hover, hints, symbols and rename, and refuses a rename that joins nets", async () => {
    const position = { line: 2, character: 33 };
    const hover = await client.connection.sendRequest<{ contents: { value: string } }>("textDocument/hover", {
      textDocument: { uri: URI },
      position,
    });
    expect(hover.contents.value).toContain("**tap**");
    const hints = await client.connection.sendRequest<{ label: string }[]>("textDocument/inlayHint", {
      textDocument: { uri: URI },
      range: { start: { line: 0, character: 0 }, end: { line: 9, character: 0 } },
    });
    expect(hints.map(({ label }) => label)).toContain("100 V");
    const edit = await client.connection.sendRequest<{ changes: Record<string, object[]> }>(
      "textDocument/rename",
      { textDocument: { uri: URI }, position, newName: "middle" },
    );
    expect(edit.changes[URI]).toHaveLength(3);
    await expect(
      client.connection.sendRequest("textDocument/rename", {
        textDocument: { uri: URI },
        position,
        newName: "HT",
      }),
    ).rejects.toThrow(/join the two nets/);
  });

  it("draws the voltage chart with its caution", async () => {
    const body = await client.connection.sendRequest<string>("derate/voltageChart", { uri: URI });
    expect(body).toContain("<table>");
    expect(body).toContain("These voltages kill");
  });

  it.each([
    ["empty", ""],
    ["one long line", `a -- ${"resistor R1 1k -- a -- ".repeat(500)}gnd`],
    ["binary", String.fromCharCode(...Array.from({ length: 4000 }, (_, at) => (at * 7919) % 0xd7ff))],
    ["every line wrong", "resistor resistor {{{ -- }\n".repeat(60)],
  ])("outlives a file that is %s", async (name, text) => {
    const uri = `file:///bench/${encodeURIComponent(name)}.ampnet`;
    await open(client, uri, text);
    expect((await pull(client, undefined, uri)).kind).toBe("full");
    await client.connection.sendNotification("textDocument/didClose", { textDocument: { uri } });
    expect((await pull(client)).kind).toBe("full");
  });
});

describe("a client that cannot pull", () => {
  it("is pushed the findings of the newest version alone, and an empty list on close", async () => {
    const client = await start({ publishDiagnostics: { relatedInformation: true } });
    const until = async (wanted: () => boolean) => {
      for (let turn = 0; turn < 400 && !wanted(); turn++)
        await new Promise((resolve) => setTimeout(resolve, 25));
      expect(wanted()).toBe(true);
    };
    await open(client, URI, TEXT);
    await until(() =>
      client.pushed.some(({ version, diagnostics }) => version === 1 && diagnostics.length > 0),
    );
    await change(client, 2, [
      { range: { start: { line: 4, character: 24 }, end: { line: 4, character: 26 } }, text: "160" },
    ]);
    await until(() => client.pushed.some(({ version }) => version === 2));
    const last = client.pushed.at(-1);
    expect(last?.diagnostics.map(({ code }) => code)).not.toContain("rating/capacitor-voltage");
    await client.connection.sendNotification("textDocument/didClose", { textDocument: { uri: URI } });
    await until(() => client.pushed.at(-1)?.diagnostics.length === 0);
    await stop(client);
  });
});
