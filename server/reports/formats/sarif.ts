/** SARIF 2.1.0 (OASIS Standard, 2020): for code-scanning services and editors that read it. */
import type { Log, PhysicalLocation, ReportingDescriptor, Result } from "sarif";
import type { Rule } from "../../rules/rule.ts";
import { fingerprints } from "../fingerprint.ts";
import type { LineRange, ReportFinding } from "../report.ts";
import { jsonWithin, type ReportWriter } from "../writer.ts";
import type { FormatContext } from "./index.ts";

export function sarifWriter({ rules, version }: FormatContext, paths: readonly string[]): ReportWriter {
  const index = new Map(rules.map(({ id }, at) => [id, at]));
  const namesOf = fingerprints(paths);
  let files = 0;
  let results = 0;
  let checked = 0;
  let unchecked = 0;
  return {
    add(report) {
      files++;
      checked += report.checked;
      unchecked += report.unchecked;
      const names = namesOf(report);
      const piece = report.findings.map(
        (finding, nth) =>
          `${results + nth > 0 ? ",\n" : ""}${jsonWithin(result(finding, names[nth], index), 4)}`,
      );
      results += report.findings.length;
      return piece.join("");
    },
    *end() {
      const log = frame(rules, version, paths, { checked, unchecked });
      const text = `${JSON.stringify(log, undefined, 2)}\n`;
      // Within a string the marks would be escaped: this stands there once.
      const empty = '\n      "results": [';
      const at = text.indexOf(empty) + empty.length;
      yield text.slice(0, at);
      if (results > 0) {
        yield "\n";
        yield { from: 0, to: files };
        yield "\n      ";
      }
      yield text.slice(at);
    },
  };
}

/** All but the results. */
function frame(
  rules: readonly Rule[],
  version: string,
  paths: readonly string[],
  counts: { readonly checked: number; readonly unchecked: number },
): Log {
  return {
    $schema: "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
    version: "2.1.0",
    runs: [
      {
        tool: { driver: { name: "derate", semanticVersion: version, version, rules: rules.map(descriptor) } },
        columnKind: "utf16CodeUnits",
        invocations: [{ executionSuccessful: true }],
        artifacts: paths.map((path) => ({ location: { uri: uriOf(path) }, sourceLanguage: "ampnet" })),
        results: [],
        properties: counts,
      },
    ],
  };
}

function descriptor(rule: Rule): ReportingDescriptor {
  const help = [
    rule.why,
    `Source: ${rule.source}.`,
    `Quiet: ${rule.quiet}`,
    rule.caution && `Caution: ${rule.caution}`,
  ];
  const texts = help.filter((text): text is string => text !== undefined);
  return {
    id: rule.id,
    shortDescription: { text: rule.sentence },
    fullDescription: { text: rule.why },
    help: {
      text: texts.join("\n\n"),
      markdown: [
        ...texts,
        `Breaches it:\n\n\`\`\`ampnet\n${rule.bad.trim()}\n\`\`\``,
        `Put right:\n\n\`\`\`ampnet\n${rule.good.trim()}\n\`\`\``,
      ].join("\n\n"),
    },
    defaultConfiguration: { level: levels[rule.severity] },
    properties: { tags: [rule.id.split("/")[0]], source: rule.source },
  };
}

const levels = { error: "error", warning: "warning", advice: "note", unchecked: "none" } as const;

function result(finding: ReportFinding, fingerprint: string, index: ReadonlyMap<string, number>): Result {
  const open = finding.severity === "unchecked";
  return {
    ruleId: finding.rule,
    ...(index.has(finding.rule) ? { ruleIndex: index.get(finding.rule) } : {}),
    // What could not be checked is neither passed nor failed: SARIF calls that open, and an open result has no level.
    kind: open ? "open" : "fail",
    level: levels[finding.severity],
    message: { text: finding.message },
    locations: [
      {
        physicalLocation: physical(finding),
        ...(finding.on.length > 0
          ? { logicalLocations: finding.on.map((name) => ({ name, kind: "element" })) }
          : {}),
      },
    ],
    ...(finding.related.length > 0
      ? {
          relatedLocations: finding.related.map((related, id) => ({
            id,
            message: { text: related.message },
            physicalLocation: physical(related),
          })),
        }
      : {}),
    partialFingerprints: { "derate/v1": fingerprint },
    ...(finding.waived
      ? { suppressions: [{ kind: "inSource", status: "accepted", justification: finding.waived.reason }] }
      : {}),
    ...(finding.known ? { baselineState: "unchanged" as const } : {}),
    ...(finding.fix
      ? {
          fixes: [
            {
              description: { text: finding.fix.title },
              artifactChanges: finding.fix.edits.map(({ file, range, text }) => ({
                artifactLocation: { uri: uriOf(file) },
                replacements: [{ deletedRegion: region(range), insertedContent: { text } }],
              })),
            },
          ],
        }
      : {}),
    properties: {
      severity: finding.severity,
      ...present({
        state: finding.state,
        mains: finding.mains,
        value: finding.value,
        limit: finding.limit,
        unit: finding.unit,
        source: finding.source,
        follows: finding.follows,
        waivedUntil: finding.waived?.until,
      }),
    },
  };
}

function physical(place: { file: string; range: LineRange; text: string }): PhysicalLocation {
  return {
    artifactLocation: { uri: uriOf(place.file) },
    region: { ...region(place.range), ...(place.text === "" ? {} : { snippet: { text: place.text } }) },
  };
}

/** SARIF counts lines and columns from one, the end column being the one behind. */
function region({ start, end }: LineRange) {
  return {
    startLine: start.line + 1,
    startColumn: start.character + 1,
    endLine: end.line + 1,
    endColumn: end.character + 1,
  };
}

/** A path from the folder that the check ran in stays relative; an absolute one becomes a file URI. */
export function uriOf(path: string): string {
  const encoded = path.replace(/^\.\//, "").split("/").map(encodeURIComponent).join("/");
  if (path.startsWith("/")) return `file://${encoded}`;
  if (/^[A-Za-z]:\//.test(path)) return `file:///${encoded.replace("%3A", ":")}`;
  return encoded;
}

function present(values: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(
    Object.entries(values).filter(([, value]) => value !== null && value !== undefined),
  );
}
