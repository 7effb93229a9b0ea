/** The extension's commands. */
import * as vscode from "vscode";
import type { BaseLanguageClient } from "vscode-languageclient";
import type { Conditions } from "./conditions.ts";
import { CHART, EXPLAIN, SUPPLY } from "./messages.ts";
import { showPanel } from "./panel.ts";
import { TEMPLATES } from "./templates.ts";

/** Scheme of the pages that explain a rule. */
const RULE_PAGE = "derate-rule";

export function registerCommands(
  context: vscode.ExtensionContext,
  client: BaseLanguageClient,
  channel: vscode.LogOutputChannel,
  conditions: Conditions,
): void {
  const command = (name: string, run: (...words: unknown[]) => unknown) =>
    context.subscriptions.push(vscode.commands.registerCommand(`derate.${name}`, run));
  const active = () => {
    const document = vscode.window.activeTextEditor?.document;
    if (document?.languageId === "ampnet") return document;
    void vscode.window.showInformationMessage("Open an .ampnet file first.");
    return undefined;
  };
  const picture = async (message: string, kind: string, title: string) => {
    const document = active();
    if (document === undefined) return;
    const uri = document.uri.toString();
    const shown = await showPanel(kind, title, uri, async () =>
      client.isRunning() ? ((await client.sendRequest<string | null>(message, { uri })) ?? null) : null,
    );
    if (!shown) void vscode.window.showInformationMessage("There is nothing to show for this file yet.");
  };

  context.subscriptions.push(
    vscode.workspace.registerTextDocumentContentProvider(RULE_PAGE, {
      provideTextDocumentContent: async ({ path }) => {
        const rule = path.replace(/^\//, "").replace(/\.md$/, "");
        return (await client.sendRequest<string | null>(EXPLAIN, { rule })) ?? rule;
      },
    }),
  );

  command("nextState", () => conditions.nextState());
  command("nextMains", () => conditions.nextMains());
  command("showVoltageChart", () => picture(CHART, "derate.voltageChart", "Voltage chart"));
  command("showSupplyPicture", () => picture(SUPPLY, "derate.supplyPicture", "Supply"));
  command("showFindings", () => vscode.commands.executeCommand("workbench.actions.view.problems"));
  command("showLog", () => channel.show());
  command("restartServer", async () => {
    await client.stop();
    await client.start();
    channel.info("The server was restarted by command.");
  });

  command("explainFinding", async () => {
    const editor = vscode.window.activeTextEditor;
    if (active() === undefined || editor === undefined) return;
    const here = vscode.languages
      .getDiagnostics(editor.document.uri)
      .filter(
        ({ source, range }) => source === "derate" && range.intersection(editor.selection) !== undefined,
      );
    const rules = [...new Set(here.map(({ code }) => String(typeof code === "object" ? code.value : code)))];
    const rule =
      rules.length > 1 ? await vscode.window.showQuickPick(rules, { title: "Which finding?" }) : rules[0];
    if (rule === undefined) {
      if (rules.length === 0)
        void vscode.window.showInformationMessage("There is no finding under the cursor.");
      return;
    }
    // A page that nobody has to save or close: the preview of a text that no file holds.
    const page = vscode.Uri.from({ scheme: RULE_PAGE, path: `/${rule}.md` });
    await vscode.commands
      .executeCommand("markdown.showPreviewToSide", page)
      .then(undefined, () => vscode.window.showTextDocument(page, { viewColumn: vscode.ViewColumn.Beside }));
  });

  command("checkFolder", async () => {
    // The client asks for the whole folder's findings by itself; opening Problems shows them all.
    await vscode.commands.executeCommand("workbench.actions.view.problems");
  });

  command("newAmplifier", async () => {
    const picked = await vscode.window.showQuickPick(
      TEMPLATES.map((template) => ({ label: template.label, detail: template.detail, template })),
      { title: "New amplifier" },
    );
    if (picked === undefined) return;
    const document = await vscode.workspace.openTextDocument({
      language: "ampnet",
      content: picked.template.text,
    });
    await vscode.window.showTextDocument(document);
  });
}
