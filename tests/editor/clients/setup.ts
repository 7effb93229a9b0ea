/** Before all clients: the workbenches are there, and the extension is built and packed in a folder of its own. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { TestProject } from "vitest/node";
import { installCodeServer, installWebWorkbench } from "./install.ts";
import { run } from "./processes.ts";

declare module "vitest" {
  export interface ProvidedContext {
    /** Bundles of this tree. */
    dist: string;
    /** The packed extension. */
    vsix: string;
    /** The same unpacked. */
    extension: string;
    codeServer: string;
    webWorkbench: string;
  }
}

export default async function setup(project: TestProject): Promise<() => void> {
  const folder = mkdtempSync(join(tmpdir(), "derate-editor-"));
  const root = project.config.root;
  const dist = join(folder, "dist");
  const vsix = join(folder, "derate.vsix");
  const extension = join(folder, "extension");
  await run(process.execPath, ["scripts/build.mjs", dist], 120, { cwd: root });
  await run(
    process.execPath,
    ["scripts/package.mjs", "--dist", dist, "--out", vsix, "--folder", extension],
    60,
    { cwd: root },
  );
  project.provide("dist", dist);
  project.provide("vsix", vsix);
  project.provide("extension", extension);
  project.provide("codeServer", await installCodeServer());
  project.provide("webWorkbench", await installWebWorkbench());
  return () => rmSync(folder, { recursive: true, force: true });
}
