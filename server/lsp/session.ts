/**
 * One client's connection. It only translates: every feature is a pure function in `server/editor/`. Each handler is
 * guarded, so that a fault of ours costs one answer and a line in the log, never the server.
 */
import type { Connection } from "vscode-languageserver";
import {
  type CancellationToken,
  type Diagnostic,
  DidChangeConfigurationNotification,
  DidChangeWatchedFilesNotification,
  type InitializeParams,
  LSPErrorCodes,
  type RenameParams,
  ResponseError,
  type TextEdit,
  type WorkspaceDocumentDiagnosticReport,
  type WorkspaceEdit,
} from "vscode-languageserver-protocol";
import { TextDocument } from "vscode-languageserver-textdocument";
import { ignoreFile } from "../config/names.ts";
import { codeActions } from "../editor/code-actions.ts";
import { codeLenses } from "../editor/code-lens.ts";
import { completion, resolveCompletion } from "../editor/completion.ts";
import { diagnostics } from "../editor/diagnostics.ts";
import type { CheckedDocument } from "../editor/document.ts";
import { foldingRanges } from "../editor/folding.ts";
import { formatDocument, formatOnType, formatRange } from "../editor/formatting.ts";
import { hoverRule } from "../editor/hover/rule.ts";
import { hover } from "../editor/hover.ts";
import { inlayHints } from "../editor/inlay-hints.ts";
import { documentLinks } from "../editor/links.ts";
import { definition, highlights, references } from "../editor/navigate.ts";
import { prepareRename, rename } from "../editor/rename.ts";
import { selectionRanges } from "../editor/selection-ranges.ts";
import { semanticTokens } from "../editor/semantic-tokens.ts";
import { signatureHelp } from "../editor/signature-help.ts";
import { documentSymbols, workspaceSymbols } from "../editor/symbols.ts";
import { supplyPictureHtml } from "../reports/supply-picture.ts";
import { voltageChartHtml } from "../reports/voltage-chart.ts";
import { abilitiesOf, type ClientAbilities, capabilities } from "./capabilities.ts";
import { ConfigurationFiles, type Configured } from "./configuration.ts";
import { LARGEST_TEXT, type ServerHost } from "./host.ts";
import {
  CHART,
  type Condition,
  type DocumentParams,
  EXPLAIN,
  type ExplainParams,
  SET_CONDITION,
  STATUS,
  type StatusParams,
  SUPPLY,
} from "./protocol.ts";
import { defaults, readSettings, type Settings } from "./settings.ts";
import { baseName, resolveUri } from "./uri.ts";
import { Workspace } from "./workspace.ts";

const NAME = "Derate";
const NETLIST = /\.ampnet$/i;
/** Netlists, configurations, and what those name. */
const WATCHED = "**/*.{ampnet,json}";
/** How long findings wait for the folders to be read, milliseconds. */
const FOLDER_PATIENCE = 300;
const identity = (uri: string) => uri;

export function startSession(connection: Connection, host: ServerHost): void {
  const configurations = new ConfigurationFiles(host);
  const workspace = new Workspace(host, async (uri) => (await configurationOf(uri)).options);
  const texts = new Map<string, TextDocument>();
  const pushes = new Map<string, ReturnType<typeof setTimeout>>();
  let client: ClientAbilities = abilitiesOf({});
  let settings: Settings = defaults;
  let condition: Condition | undefined;
  let folders: string[] = [];
  let epoch = 0;
  /** Findings wait until settings and folders are known: an answer that is out of date at once helps nobody. */
  let settled: () => void = () => undefined;
  const ready = new Promise<void>((resolve) => {
    settled = resolve;
  });

  // ── keeping alive ──────────────────────────────────────────────────────────
  const log = (message: string) => connection.console.info(message);
  function fault(what: string, error: unknown): void {
    connection.console.error(
      `${what} failed: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`,
    );
  }
  function guarded<P, R>(
    what: string,
    empty: R,
    handler: (params: P, token: CancellationToken) => R | Promise<R>,
  ) {
    return async (params: P, token: CancellationToken): Promise<R> => {
      try {
        return await handler(params, token);
      } catch (error) {
        if (error instanceof ResponseError) throw error;
        fault(what, error);
        return empty;
      }
    };
  }
  /** A handler that needs the document as checked; `prompt` ones take the last numbers rather than wait. */
  function withDocument<P extends { readonly textDocument: { readonly uri: string } }, R>(
    what: string,
    empty: R,
    handler: (document: CheckedDocument, params: P) => R,
    promptly = true,
  ) {
    return guarded<P, R>(what, empty, async (params, token) => {
      const uri = params.textDocument.uri;
      const document = await (promptly ? workspace.prompt(uri, token) : workspace.document(uri, token));
      return document === undefined || token.isCancellationRequested ? empty : handler(document, params);
    });
  }

  // ── life ───────────────────────────────────────────────────────────────────
  connection.onInitialize((params: InitializeParams) => {
    client = abilitiesOf(params.capabilities);
    folders = (params.workspaceFolders ?? []).map(({ uri }) => uri);
    return { capabilities: capabilities(client), serverInfo: { name: NAME } };
  });

  connection.onInitialized(async () => {
    // Nothing here waits for another's answer: a start is as long as the slowest of them.
    const watching = client.watchesFiles
      ? connection.client.register(DidChangeWatchedFilesNotification.type, {
          watchers: [{ globPattern: WATCHED }, { globPattern: `**/${ignoreFile}` }],
        })
      : undefined;
    void watching?.catch(identity);
    if (client.configuration) {
      void connection.client
        .register(DidChangeConfigurationNotification.type, { section: "derate" })
        .catch(identity);
    }
    if (client.folders) {
      connection.workspace.onDidChangeWorkspaceFolders(async ({ added, removed }) => {
        folders = [
          ...folders.filter((uri) => !removed.some((gone) => gone.uri === uri)),
          ...added.map(({ uri }) => uri),
        ];
        for (const { uri } of added) await readFolder(uri);
        afterChange();
      });
    }
    const reading = Promise.all(folders.map(readFolder));
    if (client.configuration) await readConfiguration();
    // A folder that is slow to read holds up nothing for long; what it holds is told when it is known.
    const late = await Promise.race([
      reading.then(() => false),
      new Promise<boolean>((resolve) => setTimeout(resolve, FOLDER_PATIENCE, true)),
    ]);
    settled();
    afterChange();
    if (late) {
      await reading;
      afterChange();
    }
  });

  async function readFolder(folder: string): Promise<void> {
    try {
      for (const uri of await host.listNetlists(folder)) await workspace.refresh(uri);
    } catch (error) {
      fault(`Reading ${folder}`, error);
    }
  }

  async function readConfiguration(): Promise<void> {
    try {
      const read = readSettings(await connection.workspace.getConfiguration("derate"));
      settings = read.settings;
      for (const problem of read.problems) connection.console.warn(problem);
    } catch (error) {
      fault("Reading the settings", error);
    }
  }

  connection.onDidChangeConfiguration(async () => {
    const before = settings.hints;
    if (client.configuration) await readConfiguration();
    // Stepped by command stays so, until the setting itself is changed.
    if (settings.hints.state !== before.state || settings.hints.mains !== before.mains) condition = undefined;
    workspace.touchAll();
    afterChange();
  });

  connection.onDidChangeWatchedFiles(async ({ changes }) => {
    let changed = false;
    let configured = false;
    for (const { uri } of changes) {
      if (configurations.changed(uri)) configured = true;
      if (!NETLIST.test(uri)) continue;
      try {
        if (await workspace.refresh(uri)) changed = true;
      } catch (error) {
        fault(`Reading ${uri}`, error);
      }
    }
    if (configured) afterConfiguration();
    else if (changed) afterChange();
  });

  // ── configuration files ────────────────────────────────────────────────────
  /** What was last told of each configuration file that has something wrong in it. */
  const toldOf = new Map<string, string>();

  async function configurationOf(uri: string): Promise<Configured> {
    const configured = await configurations.for(uri);
    const wrong = new Map(configured.read.map((file) => [file, [] as Diagnostic[]]));
    for (const { uri: file, range, message } of configured.problems) {
      const diagnostic: Diagnostic = {
        range,
        severity: 1,
        code: "configuration",
        source: "derate",
        message: `${message}. Until this is right, none of its settings hold.`,
      };
      const list = wrong.get(file);
      if (list) list.push(diagnostic);
      else wrong.set(file, [diagnostic]);
    }
    for (const [file, found] of wrong) {
      const text = JSON.stringify(found);
      if ((toldOf.get(file) ?? "[]") === text) continue;
      toldOf.set(file, text);
      // The client has no language of ours to ask about these files in: they are told.
      connection.sendDiagnostics({ uri: file, diagnostics: found });
      for (const { range, message } of found)
        connection.console.warn(`${file}:${range.start.line + 1}:${range.start.character + 1}: ${message}`);
    }
    return configured;
  }

  /** In the netlist too: whoever looks at its findings sees that they are not those of its settings. */
  function misconfigured({ problems }: Configured, text: string): Diagnostic[] {
    const [first] = problems;
    if (!first) return [];
    const end = text.indexOf("\n");
    return [
      {
        range: {
          start: { line: 0, character: 0 },
          end: { line: 0, character: end < 0 ? text.length : end },
        },
        severity: 1,
        code: "configuration",
        source: "derate",
        message: `The configuration is wrong, so none of its settings hold here: ${baseName(first.uri)}, line ${first.range.start.line + 1}: ${first.message}.`,
        ...(client.related
          ? {
              relatedInformation: problems.map(({ uri, range, message }) => ({
                location: { uri, range },
                message,
              })),
            }
          : {}),
      },
    ];
  }

  function afterConfiguration(): void {
    for (const [file, text] of toldOf)
      if (text !== "[]") connection.sendDiagnostics({ uri: file, diagnostics: [] });
    toldOf.clear();
    workspace.touchAll();
    afterChange();
  }

  // ── texts ──────────────────────────────────────────────────────────────────
  connection.onDidOpenTextDocument(({ textDocument: { uri, languageId, version, text } }) => {
    texts.set(uri, TextDocument.create(uri, languageId, version, text));
    // A client that tells of no changed files: what is on disk now counts.
    if (!client.watchesFiles) configurations.forget();
    workspace.open(uri, text);
    schedule(uri);
  });
  connection.onDidChangeTextDocument(({ textDocument: { uri, version }, contentChanges }) => {
    const text = texts.get(uri);
    if (text === undefined) return;
    const updated = TextDocument.update(text, contentChanges, version);
    texts.set(uri, updated);
    workspace.open(uri, updated.getText());
    schedule(uri);
  });
  connection.onDidCloseTextDocument(async ({ textDocument: { uri } }) => {
    texts.delete(uri);
    clearTimeout(pushes.get(uri));
    pushes.delete(uri);
    if (!client.pullsDiagnostics) connection.sendDiagnostics({ uri, diagnostics: [] });
    await workspace.close(uri).catch((error) => fault(`Closing ${uri}`, error));
  });

  /** Whatever is open and may be touched by this text is told anew: itself, and files that share an amplifier with it. */
  function schedule(uri: string): void {
    if (client.pullsDiagnostics) return;
    for (const other of workspace.openUris) {
      if (other !== uri && !workspace.rootsOf(other).some((root) => workspace.rootsOf(uri).includes(root)))
        continue;
      clearTimeout(pushes.get(other));
      // The dearer the last check was, the longer a burst of typing is waited out.
      const delay = Math.min(400, 2 * workspace.costOf(other));
      pushes.set(
        other,
        setTimeout(() => void push(other), delay),
      );
    }
  }

  async function push(uri: string): Promise<void> {
    pushes.delete(uri);
    const version = texts.get(uri)?.version;
    try {
      const found = await findingsOf(uri);
      if (found === undefined || version === undefined || texts.get(uri)?.version !== version) return;
      connection.sendDiagnostics({ uri, version, diagnostics: found });
    } catch (error) {
      fault(`Checking ${uri}`, error);
    }
  }

  function afterChange(): void {
    epoch++;
    if (client.pullsDiagnostics) {
      if (client.refreshesDiagnostics) connection.languages.diagnostics.refresh();
    } else for (const uri of workspace.openUris) schedule(uri);
    refreshShown();
  }

  function refreshShown(): void {
    if (client.refreshesHints) void connection.languages.inlayHint.refresh();
    if (client.refreshesLenses) void connection.sendRequest("workspace/codeLens/refresh").catch(identity);
  }

  // ── findings ───────────────────────────────────────────────────────────────
  /** Findings of one file in every amplifier that it is part of, each once. */
  async function findingsOf(
    uri: string,
    token?: CancellationToken,
    /** A search of the folder leaves out amplifiers that the configuration ignores, unless they are open. */
    searching = false,
  ): Promise<Diagnostic[] | undefined> {
    const text = workspace.text(uri) ?? "";
    if (text.length > LARGEST_TEXT) return [tooLong(text)];
    const all: Diagnostic[] = misconfigured(await configurationOf(workspace.rootsOf(uri)[0]), text);
    const seen = new Set<string>();
    for (const root of workspace.rootsOf(uri)) {
      if (searching && !workspace.isOpen(uri) && (await configurationOf(root)).ignored) continue;
      const result = await workspace.check(root, token);
      if (result === undefined) return undefined;
      for (const diagnostic of diagnostics(result, uri, {
        uriOf: identity,
        pageOf: host.pageOf,
        related: client.related,
      })) {
        const key = JSON.stringify([diagnostic.range, diagnostic.message]);
        if (seen.has(key) || (!settings.unchecked && diagnostic.severity === 4)) continue;
        seen.add(key);
        all.push(diagnostic);
      }
      if (workspace.isOpen(uri)) tellStatus(uri, result);
    }
    return all;
  }

  function tooLong(text: string): Diagnostic {
    return {
      range: { start: { line: 0, character: 0 }, end: { line: 0, character: 1 } },
      severity: 1,
      code: "circuit/syntax",
      source: "derate",
      message: `This file has ${(text.length / 1048576).toFixed(1)} MB, and none of more than ${LARGEST_TEXT / 1048576} MB is checked: nothing in it has been.`,
    };
  }

  function tellStatus(uri: string, result: CheckedDocument["result"]): void {
    const count = (severity: string) =>
      result.findings.filter((finding) => finding.severity === severity && !finding.waived).length;
    const status: StatusParams = {
      uri,
      ...(result.circuit.name ? { amplifier: result.circuit.name } : {}),
      states: result.analysis.states,
      errors: count("error"),
      warnings: count("warning"),
      checked: result.checked,
      unchecked: result.unchecked,
    };
    void connection.sendNotification(STATUS, status);
  }

  const resultId = (uri: string) =>
    `${epoch}:${workspace
      .rootsOf(uri)
      .map((root) => workspace.stamp(root))
      .join(",")}`;

  connection.languages.diagnostics.on(async ({ textDocument: { uri }, previousResultId }, token) => {
    try {
      await ready;
      // An amplifier's includes must be known before its stamp means anything.
      const found = await findingsOf(uri, token);
      if (token.isCancellationRequested || found === undefined) {
        if (workspace.text(uri) === undefined) return { kind: "full", items: [] };
        throw new ResponseError(LSPErrorCodes.ServerCancelled, "A newer text is being checked.", {
          retriggerRequest: true,
        });
      }
      const id = resultId(uri);
      return id === previousResultId
        ? { kind: "unchanged", resultId: id }
        : { kind: "full", resultId: id, items: found };
    } catch (error) {
      if (error instanceof ResponseError) throw error;
      fault(`Checking ${uri}`, error);
      return { kind: "full", items: [] };
    }
  });

  connection.languages.diagnostics.onWorkspace(
    guarded(
      "Checking the folder",
      { items: [] as WorkspaceDocumentDiagnosticReport[] },
      async ({ previousResultIds }, token) => {
        await ready;
        const before = new Map<string, string>();
        for (const { uri, value } of previousResultIds) before.set(uri, value);
        const items: WorkspaceDocumentDiagnosticReport[] = [];
        for (const uri of workspace.knownUris) {
          if (token.isCancellationRequested) break;
          const version = texts.get(uri)?.version ?? null;
          const id = resultId(uri);
          if (before.get(uri) === id) {
            items.push({ kind: "unchanged", uri, version, resultId: id });
            continue;
          }
          const found = await findingsOf(uri, token, true);
          if (found) items.push({ kind: "full", uri, version, resultId: resultId(uri), items: found });
        }
        for (const [uri] of before) {
          // A file that is gone leaves nothing behind.
          if (workspace.text(uri) === undefined) items.push({ kind: "full", uri, version: null, items: [] });
        }
        return { items };
      },
    ),
  );

  // ── features ───────────────────────────────────────────────────────────────
  const shown = (): Condition => condition ?? { state: settings.hints.state, mains: settings.hints.mains };

  connection.onHover(
    withDocument("Hover", null, (document, { position }) => hover(document, position) ?? null),
  );
  connection.languages.inlayHint.on(
    withDocument("Inlay hints", [], (document, { range }) =>
      inlayHints(document, range, { state: shown().state, level: shown().mains, show: settings.hints.show }),
    ),
  );
  connection.onCodeLens(
    withDocument("Code lenses", [], (document) => (settings.lenses ? codeLenses(document) : []), false),
  );
  connection.onCompletion(
    withDocument("Completion", [], (document, { position }) => completion(document, position)),
  );
  connection.onCompletionResolve((item) => {
    try {
      return resolveCompletion(item);
    } catch (error) {
      fault("Completion details", error);
      return item;
    }
  });
  connection.onSignatureHelp(
    withDocument(
      "Signature help",
      null,
      (document, { position }) => signatureHelp(document, position) ?? null,
    ),
  );
  connection.onDefinition(
    withDocument(
      "Definition",
      null,
      (document, { position }) => definition(document, position, identity) ?? null,
    ),
  );
  connection.onReferences(
    withDocument("References", [], (document, { position, context }) =>
      references(document, position, context.includeDeclaration, identity),
    ),
  );
  connection.onDocumentHighlight(
    withDocument("Highlights", [], (document, { position }) => highlights(document, position)),
  );
  connection.onDocumentSymbol(withDocument("Outline", [], (document) => documentSymbols(document)));
  connection.onWorkspaceSymbol(
    guarded("Symbol search", [], async ({ query }, token) => {
      const documents: CheckedDocument[] = [];
      for (const uri of workspace.knownUris) {
        const document = await workspace.document(uri, token);
        if (token.isCancellationRequested) break;
        if (document) documents.push(document);
      }
      return workspaceSymbols(documents, query, identity);
    }),
  );
  connection.onPrepareRename(
    withDocument(
      "Rename",
      null,
      (document, { position }) => prepareRename(document, position) ?? null,
      false,
    ),
  );
  connection.onRenameRequest(
    guarded<RenameParams, WorkspaceEdit | null>(
      "Rename",
      null,
      async ({ textDocument: { uri }, position, newName }, token) => {
        const changes: Record<string, TextEdit[]> = {};
        // A file that several amplifiers include is renamed in all of them, or not at all.
        for (const root of workspace.rootsOf(uri)) {
          const document = await workspace.document(uri, token, root);
          if (document === undefined || token.isCancellationRequested) return null;
          const result = rename(document, position, newName);
          if ("refused" in result) throw new ResponseError(LSPErrorCodes.RequestFailed, result.refused);
          for (const [file, edits] of result.edits) {
            const known = changes[file] ?? [];
            const isNew = ({ range }: TextEdit) =>
              !known.some(({ range: { start } }) => JSON.stringify(start) === JSON.stringify(range.start));
            changes[file] = [...known, ...edits.filter(isNew)];
          }
        }
        return { changes };
      },
    ),
  );
  connection.onFoldingRanges(withDocument("Folding", [], (document) => foldingRanges(document)));
  connection.onSelectionRanges(
    withDocument("Selection ranges", [], (document, { positions }) => selectionRanges(document, positions)),
  );
  connection.languages.semanticTokens.on(
    withDocument("Semantic tokens", { data: [] }, (document) => semanticTokens(document)),
  );
  connection.languages.semanticTokens.onRange(
    withDocument("Semantic tokens", { data: [] }, (document, { range }) => semanticTokens(document, range)),
  );
  connection.onDocumentLinks(
    withDocument("Links", [], (document) =>
      documentLinks(document, {
        includeUri: (written) => resolveUri(document.file, written),
        pageOf: host.pageOf,
      }),
    ),
  );
  connection.onCodeAction(
    withDocument(
      "Code actions",
      [],
      (document, { range, context }) =>
        codeActions(document, range, {
          uriOf: identity,
          diagnostics: context.diagnostics,
          only: context.only ?? [],
        }),
      false,
    ),
  );
  // Formatting needs the text alone, and must not wait for any check.
  const formatted = <P extends { readonly textDocument: { readonly uri: string } }>(
    edit: (text: string, params: P) => ReturnType<typeof formatDocument>,
  ) =>
    guarded<P, ReturnType<typeof formatDocument>>("Formatting", [], (params) => {
      const text = texts.get(params.textDocument.uri)?.getText();
      return text === undefined ? [] : edit(text, params);
    });
  connection.onDocumentFormatting(formatted((text) => formatDocument(text)));
  connection.onDocumentRangeFormatting(formatted((text, { range }) => formatRange(text, range)));
  connection.onDocumentOnTypeFormatting(formatted((text, { position }) => formatOnType(text, position)));

  // ── messages of our own ────────────────────────────────────────────────────
  connection.onNotification(SET_CONDITION, (wanted: Condition) => {
    condition = wanted;
    refreshShown();
  });
  connection.onRequest(EXPLAIN, ({ rule }: ExplainParams) => hoverRule(rule) ?? null);
  connection.onRequest(
    CHART,
    guarded("Voltage chart", null, async ({ uri }: DocumentParams, token) => {
      const document = await workspace.document(uri, token);
      return document ? voltageChartHtml(document.result) : null;
    }),
  );
  connection.onRequest(
    SUPPLY,
    guarded("Supply picture", null, async ({ uri }: DocumentParams, token) => {
      const document = await workspace.document(uri, token);
      return document ? supplyPictureHtml(document.result) : null;
    }),
  );

  log(`${NAME} is listening.`);
  connection.listen();
}
