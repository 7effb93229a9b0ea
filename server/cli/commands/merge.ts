/** `derate merge FILE…`: the SARIF of all shards as one run. */
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import type { Log, Run } from "sarif";
import { reason } from "../../reason.ts";
import type { Host } from "../host.ts";
import { isUsageError, status, UsageError } from "../status.ts";
import { writeWhole } from "../write.ts";

export interface MergeOptions {
  readonly output?: string;
}

export async function merge(files: readonly string[], options: MergeOptions, host: Host): Promise<number> {
  const troubles: string[] = [];
  const runs = files.flatMap((file) => {
    try {
      return [runOf(file, readFileSync(resolve(host.cwd, file), "utf8"))];
    } catch (error) {
      troubles.push(isUsageError(error) ? error.message : `${file}: ${reason(error, "reading")}`);
      return [];
    }
  });
  if (troubles.length > 0) throw new UsageError(troubles.join("\n"));
  const log: Log = {
    $schema: "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
    version: "2.1.0",
    runs: [mergeRuns(runs)],
  };
  const text = `${JSON.stringify(log, undefined, 2)}\n`;
  if (options.output === undefined) host.out(text);
  else writeWhole(options.output, resolve(host.cwd, options.output), text);
  return status.clean;
}

function runOf(file: string, text: string): Run {
  let log: Partial<Log>;
  try {
    log = JSON.parse(text);
  } catch (error) {
    throw new UsageError(`${file}: not JSON: ${(error as Error).message}`);
  }
  const run =
    log?.version === "2.1.0" && Array.isArray(log.runs) && log.runs.length === 1 ? log.runs[0] : undefined;
  if (run?.tool?.driver?.name !== "derate" || !Array.isArray(run.results))
    throw new UsageError(`${file}: not a SARIF 2.1.0 file of one run of derate`);
  return run;
}

/**
 * One run that says what all of them say. Shards of one run have the same rules; where files come from different
 * versions, results keep naming their rule and lose the index into a list that isn't theirs.
 */
function mergeRuns(runs: readonly Run[]): Run {
  const [first] = runs;
  const versions = new Set(runs.map((run) => run.tool.driver.version));
  if (versions.size > 1)
    throw new UsageError(
      `written by different versions of derate (${[...versions].join(", ")}); check again with one`,
    );
  const count = (key: "checked" | "unchecked") =>
    runs.reduce((sum, run) => sum + (Number(run.properties?.[key]) || 0), 0);
  const byUri = <T extends { readonly location?: { readonly uri?: string } }>(a: T, b: T) =>
    (a.location?.uri ?? "") < (b.location?.uri ?? "") ? -1 : 1;
  const uriOf = (result: NonNullable<Run["results"]>[number]) =>
    result.locations?.[0]?.physicalLocation?.artifactLocation?.uri ?? "";
  return {
    ...first,
    invocations: [{ executionSuccessful: true }],
    artifacts: runs.flatMap((run) => run.artifacts ?? []).sort(byUri),
    // Stable: results of one file keep their order.
    results: runs
      .flatMap((run) => run.results ?? [])
      .map((result, index) => ({ result, index }))
      .sort((a, b) =>
        uriOf(a.result) < uriOf(b.result) ? -1 : uriOf(a.result) > uriOf(b.result) ? 1 : a.index - b.index,
      )
      .map(({ result }) => result),
    properties: { ...first.properties, checked: count("checked"), unchecked: count("unchecked") },
  };
}
