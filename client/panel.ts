/** A panel beside the editor for a chart or picture that the server drew. It follows its file while the file is edited. */
import * as vscode from "vscode";

interface Shown {
  readonly panel: vscode.WebviewPanel;
  readonly uri: string;
  readonly draw: () => Promise<string | null>;
  body: string;
}

const open = new Map<string, Shown>();

/**
 * Shows what `draw` gives, in the panel of this kind where one is open.
 * @param uri the file it is of
 * @param draw HTML that the server made, without scripts; null where there is nothing to show
 * @returns whether there was anything
 */
export async function showPanel(
  kind: string,
  title: string,
  uri: string,
  draw: () => Promise<string | null>,
): Promise<boolean> {
  const body = await draw();
  if (body === null) return false;
  let panel = open.get(kind)?.panel;
  if (panel === undefined) {
    panel = vscode.window.createWebviewPanel(
      kind,
      title,
      { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
      { enableScripts: false, localResourceRoots: [] },
    );
    panel.onDidDispose(() => open.delete(kind));
  } else panel.reveal(undefined, true);
  open.set(kind, { panel, uri, draw, body });
  panel.webview.html = page(title, body);
  return true;
}

/** The file was checked anew: whatever shows it is drawn again, where that changes it. */
export async function redrawPanels(uri: string): Promise<void> {
  for (const [kind, shown] of open) {
    if (shown.uri !== uri) continue;
    const body = await shown.draw().catch(() => null);
    if (body === null || body === shown.body || open.get(kind) !== shown) continue;
    shown.body = body;
    shown.panel.webview.html = page(shown.panel.title, body);
  }
}

function page(title: string, body: string): string {
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<title>${escaped(title)}</title>
<style>
body { font-family: var(--vscode-font-family); color: var(--vscode-foreground); padding: 0 1rem 1rem; }
h1 { font-size: 1.5em; }
table { border-collapse: collapse; }
th, td { padding: 0.15rem 0.7rem; border-bottom: 1px solid var(--vscode-editorWidget-border, rgba(128, 128, 128, 0.35)); text-align: right; vertical-align: top; white-space: nowrap; font-variant-numeric: tabular-nums; }
thead th { position: sticky; top: 0; background: var(--vscode-editor-background); vertical-align: bottom; white-space: normal; }
th:first-child, td:first-child { text-align: left; }
td small { display: block; color: var(--vscode-descriptionForeground); }
svg { max-width: 100%; height: auto; color: var(--vscode-foreground); }
svg .over { fill: var(--vscode-errorForeground, #c00); }
</style>
</head>
<body>${body}</body>
</html>`;
}

function escaped(text: string): string {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;");
}
