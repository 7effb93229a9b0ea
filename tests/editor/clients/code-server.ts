/** The workbench with a server: the extension installed from its package, and started on a folder. */
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { freePort, type Running, run, start, until } from "./processes.ts";

/** As a new user has it, but for what would talk to the world or stand in front of the editor. */
const SETTINGS = {
  "workbench.startupEditor": "none",
  "workbench.tips.enabled": false,
  "workbench.enableExperiments": false,
  "telemetry.telemetryLevel": "off",
  "extensions.autoCheckUpdates": false,
  "extensions.ignoreRecommendations": true,
  "git.enabled": false,
  "files.autoSave": "off",
};

export interface CodeServer {
  /** Holds the folder that is opened. */
  readonly folder: string;
  readonly url: string;
  /** Process ids of language servers that this workbench has started and that live. */
  serverIds(): number[];
  /** Whether the language server has put its compiled code by. */
  keepsCode(): boolean;
  /** What the extension has written to its log. */
  log(): string;
  stop(): Promise<void>;
}

/** @param files what stands in the folder: name to text */
export async function startCodeServer(
  entry: string,
  vsix: string,
  files: Readonly<Record<string, string>>,
): Promise<CodeServer> {
  const home = mkdtempSync(join(tmpdir(), "derate-workbench-"));
  const folder = join(home, "bench");
  const userData = join(home, "user");
  const extensions = join(home, "extensions");
  mkdirSync(folder);
  mkdirSync(join(userData, "User"), { recursive: true });
  for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
  writeFileSync(join(userData, "User/settings.json"), JSON.stringify(SETTINGS, null, 2));
  const folders = ["--user-data-dir", userData, "--extensions-dir", extensions];
  // Nothing of the user's own configuration holds, and nothing is written into it.
  const env = { ...process.env, HOME: home, XDG_CONFIG_HOME: join(home, "config"), XDG_DATA_HOME: home };
  await run(process.execPath, [entry, "--install-extension", vsix, ...folders], 120, { env });

  const port = await freePort();
  const server: Running = start(
    process.execPath,
    [
      entry,
      ...["--auth", "none", "--bind-addr", `127.0.0.1:${port}`, ...folders],
      ...["--disable-telemetry", "--disable-update-check", "--disable-workspace-trust"],
    ],
    { env },
  );
  const stop = async () => {
    await server.end();
    rmSync(home, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
  };
  try {
    await until("code-server listens", 60, async () => {
      if (server.child.exitCode !== null) throw new Error(`code-server ended:\n${server.output()}`);
      return (await fetch(`http://127.0.0.1:${port}/healthz`).catch(() => undefined))?.ok;
    });
  } catch (error) {
    await stop();
    throw error;
  }
  return {
    folder,
    url: `http://127.0.0.1:${port}/?folder=${folder}`,
    serverIds: () =>
      readdirSync("/proc")
        .filter((name) => /^\d+$/.test(name))
        .filter((id) => {
          const line = commandLine(id);
          return line.includes(extensions) && /dist\/lsp\.js/.test(line);
        })
        .map(Number),
    keepsCode: () =>
      filesBelow(join(userData, "User/globalStorage")).some((path) => /derate\.derate.*\.code$/.test(path)),
    log: () =>
      filesBelow(join(userData, "logs"))
        .filter((path) => /Derate\.log$/.test(path))
        .map((path) => readFileSync(path, "utf8"))
        .join(""),
    stop,
  };
}

function commandLine(id: string): string {
  try {
    return readFileSync(`/proc/${id}/cmdline`, "utf8");
  } catch {
    return "";
  }
}

function filesBelow(folder: string): string[] {
  if (!existsSync(folder)) return [];
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) =>
    entry.isDirectory() ? filesBelow(join(folder, entry.name)) : [join(folder, entry.name)],
  );
}
