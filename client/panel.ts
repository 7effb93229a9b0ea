/** A panel beside the editor for a chart or picture that the server drew. */
import * as vscode from "vscode";

/** @param body HTML that the server made, without scripts. */
export function showPanel(kind: string, title: string, body: string): void {
  const panel = vscode.window.createWebviewPanel(
    kind,
    title,
    { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
    {
      enableScripts: false,
      localResourceRoots: [],
    },
  );
  panel.webview.html = `<!DOCTYPE html>
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
