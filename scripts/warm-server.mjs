/**
 * Part of the build: starts the built server as an editor does, opens a netlist and looks at it, so that what V8 made of the
 * code that runs at a start is kept beside it.
 */
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";

/** @throws where the server doesn't answer */
export async function warmServer(dist, netlist) {
  const child = spawn(process.execPath, [join(dist, "lsp.js"), "--stdio"], {
    stdio: ["pipe", "pipe", "inherit"],
    env: { ...process.env, DERATE_CODE_CACHE: dist },
  });
  const ended = new Promise((done, failed) => {
    child.on("error", failed);
    child.on("exit", (code) => (code === 0 ? done() : failed(new Error(`the server ended with ${code}`))));
  });
  const send = (message) => {
    const text = JSON.stringify({ jsonrpc: "2.0", ...message });
    child.stdin.write(`Content-Length: ${Buffer.byteLength(text)}\r\n\r\n${text}`);
  };
  const waiting = new Map();
  let read = Buffer.alloc(0);
  child.stdout.on("data", (chunk) => {
    read = Buffer.concat([read, chunk]);
    for (;;) {
      const head = read.indexOf("\r\n\r\n");
      if (head < 0) return;
      const length = Number(/Content-Length: (\d+)/.exec(read.toString("latin1", 0, head))?.[1]);
      if (read.length < head + 4 + length) return;
      const message = JSON.parse(read.toString("utf8", head + 4, head + 4 + length));
      read = read.subarray(head + 4 + length);
      if (message.method !== undefined) {
        if (message.id === undefined) continue;
        const { items } = message.params ?? {};
        send({ id: message.id, result: items ? items.map(() => ({})) : null });
      } else {
        waiting.get(message.id)?.(message);
        waiting.delete(message.id);
      }
    }
  });
  let last = 0;
  const ask = (method, params) =>
    new Promise((done) => {
      const id = ++last;
      waiting.set(id, done);
      send({ id, method, params });
    });
  const uri = "file:///warm.ampnet";
  const work = async () => {
    await ask("initialize", {
      processId: null,
      rootUri: null,
      workspaceFolders: null,
      capabilities: { textDocument: { diagnostic: {} }, workspace: { configuration: true } },
    });
    send({ method: "initialized", params: {} });
    const text = readFileSync(netlist, "utf8");
    send({
      method: "textDocument/didOpen",
      params: { textDocument: { uri, languageId: "ampnet", version: 1, text } },
    });
    const textDocument = { uri };
    const position = { line: text.split("\n").findIndex((line) => line.includes("resistor")), character: 8 };
    await ask("textDocument/diagnostic", { textDocument });
    for (const method of [
      "documentSymbol",
      "semanticTokens/full",
      "foldingRange",
      "codeLens",
      "documentLink",
    ])
      await ask(`textDocument/${method}`, { textDocument });
    const range = { start: { line: 0, character: 0 }, end: { line: 200, character: 0 } };
    await ask("textDocument/inlayHint", { textDocument, range });
    await ask("textDocument/hover", { textDocument, position });
    await ask("shutdown");
    send({ method: "exit" });
    await ended;
  };
  const patience = setTimeout(() => child.kill(), 60_000);
  await Promise.race([work(), ended]);
  clearTimeout(patience);
}
