/** What the server offers, given what the client can do. One file, so that it can be read whole and held by a test. */
import type { ClientCapabilities, ServerCapabilities } from "vscode-languageserver-protocol";
import { ACTION_KINDS } from "../editor/code-actions.ts";
import { legend } from "../editor/semantic-tokens.ts";

export interface ClientAbilities {
  readonly pullsDiagnostics: boolean;
  readonly refreshesDiagnostics: boolean;
  readonly refreshesHints: boolean;
  readonly refreshesLenses: boolean;
  readonly related: boolean;
  readonly configuration: boolean;
  readonly watchesFiles: boolean;
  readonly folders: boolean;
  readonly encoding: "utf-16";
}

export function abilitiesOf(client: ClientCapabilities): ClientAbilities {
  return {
    pullsDiagnostics: client.textDocument?.diagnostic !== undefined,
    refreshesDiagnostics: client.workspace?.diagnostics?.refreshSupport === true,
    refreshesHints: client.workspace?.inlayHint?.refreshSupport === true,
    refreshesLenses: client.workspace?.codeLens?.refreshSupport === true,
    related: client.textDocument?.publishDiagnostics?.relatedInformation !== false,
    configuration: client.workspace?.configuration === true,
    watchesFiles: client.workspace?.didChangeWatchedFiles?.dynamicRegistration === true,
    folders: client.workspace?.workspaceFolders === true,
    // Every client must offer UTF-16, and offsets here are UTF-16 code units: it is the one that costs nothing.
    encoding: "utf-16",
  };
}

export function capabilities(client: ClientAbilities): ServerCapabilities {
  return {
    positionEncoding: client.encoding,
    textDocumentSync: { openClose: true, change: 2 },
    ...(client.pullsDiagnostics
      ? {
          diagnosticProvider: {
            identifier: "derate",
            interFileDependencies: true,
            workspaceDiagnostics: true,
          },
        }
      : {}),
    hoverProvider: true,
    completionProvider: { resolveProvider: true, triggerCharacters: [" ", ":", "{", ",", ".", "/", "-"] },
    signatureHelpProvider: { triggerCharacters: [" "], retriggerCharacters: [" "] },
    definitionProvider: true,
    referencesProvider: true,
    documentHighlightProvider: true,
    documentSymbolProvider: true,
    workspaceSymbolProvider: true,
    renameProvider: { prepareProvider: true },
    foldingRangeProvider: true,
    selectionRangeProvider: true,
    semanticTokensProvider: { legend, full: true, range: true },
    documentFormattingProvider: true,
    documentRangeFormattingProvider: true,
    documentOnTypeFormattingProvider: { firstTriggerCharacter: "\n", moreTriggerCharacter: ["}"] },
    documentLinkProvider: { resolveProvider: false },
    codeLensProvider: { resolveProvider: false },
    codeActionProvider: { codeActionKinds: [...ACTION_KINDS] },
    inlayHintProvider: true,
    workspace: { workspaceFolders: { supported: true, changeNotifications: true } },
  };
}
