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
body { font-family: var(--vscode-font-family); color: var(--vscode-foreground); padding: 0 1rem; }
table { border-collapse: collapse; }
th, td { padding: 0.2rem 0.6rem; border-bottom: 1px solid var(--vscode-panel-border); text-align: right; }
th:first-child, td:first-child { text-align: left; }
svg { max-width: 100%; height: auto; color: var(--vscode-foreground); }
</style>
</head>
<body>${body}</body>
</html>`;
}

function escaped(text: string): string {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;");
}
