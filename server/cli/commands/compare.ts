/** `derate compare OLD NEW`, `derate compare FILE --against REVISION` */
import { dirname, resolve } from "node:path";
import { check } from "../../check.ts";
import { checkOptions } from "../../config/options.ts";
import { compare as compareResults } from "../../reports/compare.ts";
import { compareMarkdown, compareText } from "../../reports/compareText.ts";
import { formatVersion } from "../../reports/json.ts";
import { configuration } from "../configuration.ts";
import { decode, findNetlists, includeReader, readNetlist } from "../files.ts";
import type { Host } from "../host.ts";
import { processes } from "../on-demand.ts";
import { type ColourOption, page } from "../page.ts";
import { isUsageError, status, UsageError } from "../status.ts";
import { readOr, unreadStatus } from "../unread.ts";

export interface CompareOptions extends ColourOption {
  readonly against?: string;
  readonly format: "text" | "markdown" | "json";
}

export async function compare(
  before: string,
  after: string | undefined,
  options: CompareOptions,
  host: Host,
): Promise<number> {
  if ((after === undefined) === (options.against === undefined))
    throw new UsageError("give the old and the new netlist, or one netlist and --against a git revision");
  const one = async (path: string) => {
    const { files } = await findNetlists([path], host);
    if (files.length !== 1) throw new UsageError(`${path}: a folder; compare takes files`);
    const settings = checkOptions(await configuration({}, host).for(files[0].absolute), host.today);
    return { file: files[0], settings };
  };
  const now = await one(after ?? before);
  const then = options.against === undefined ? await one(before) : now;
  // Both are read before either is told of: what can't be read is named at once, and not one after the other.
  const texts = [
    readOr(() =>
      options.against === undefined
        ? readNetlist(then.file)
        : inRevision(now.file.path, options.against, host),
    ),
    readOr(() => readNetlist(now.file)),
  ] as const;
  const unread = new Set(texts.flatMap((text) => ("why" in text ? [text.why] : [])));
  if (unread.size > 0) return unreadStatus([...unread, "nothing has been compared"], host);
  const [oldText, newText] = texts.map((text) => ("value" in text ? text.value : ""));
  const newer = check(now.file.path, newText, { ...now.settings, readInclude: includeReader(host) });
  const older = check(then.file.path, oldText, {
    ...then.settings,
    readInclude:
      options.against === undefined
        ? includeReader(host)
        : // What it includes is read from the same revision.
          (file) => {
            const included = readOr(() => inRevision(file, options.against as string, host));
            return "value" in included ? included.value : undefined;
          },
  });
  const comparison = compareResults(older, newer);
  host.out(
    options.format === "json"
      ? `${JSON.stringify({ version: formatVersion, ...comparison }, undefined, 2)}\n`
      : options.format === "markdown"
        ? compareMarkdown(comparison)
        : compareText(comparison, page(options, host)),
  );
  return comparison.findings.appeared.some(({ severity }) => severity === "error")
    ? status.findings
    : status.clean;
}

/** @throws UsageError where git, the revision, or the file in it isn't there */
function inRevision(path: string, revision: string, host: Pick<Host, "cwd">): string {
  const absolute = resolve(host.cwd, path);
  if (revision.startsWith("-")) throw new UsageError(`--against ${revision}: not a git revision`);
  try {
    const bytes = processes().execFileSync(
      "git",
      ["show", `${revision}:./${absolute.slice(dirname(absolute).length + 1)}`],
      {
        cwd: dirname(absolute),
        stdio: ["ignore", "pipe", "pipe"],
        maxBuffer: 64 * 1024 * 1024,
      },
    );
    return decode(`${path} in ${revision}`, bytes);
  } catch (error) {
    if (isUsageError(error)) throw error;
    const { code, stderr } = error as NodeJS.ErrnoException & { stderr?: Buffer };
    const why =
      code === "ENOENT" ? "git isn't installed" : (stderr?.toString().trim().split("\n")[0] ?? String(error));
    throw new UsageError(
      `${path}: not to be had from ${revision}: ${why}; name a commit, branch or tag that has it`,
    );
  }
}
