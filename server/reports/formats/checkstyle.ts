/** Checkstyle XML, which many review tools read. */
import { XMLBuilder } from "fast-xml-parser";
import type { ReportFinding } from "../report.ts";
import { inSight, messageOf } from "../summary.ts";
import type { Part, ReportWriter } from "../writer.ts";
import { cleanXml, linesWithin } from "./xml.ts";

const severities = { error: "error", warning: "warning", advice: "info", unchecked: "info" } as const;

/** What stands in an included file is held until its own element is written: the others' pieces hold their own alone. */
export function checkstyleWriter(): ReportWriter {
  const builder = new XMLBuilder({
    ignoreAttributes: false,
    attributeNamePrefix: "@",
    format: true,
    suppressEmptyNode: true,
  });
  const errors = (findings: readonly ReportFinding[]): string =>
    findings.length === 0
      ? ""
      : linesWithin(
          builder.build(cleanXml({ checkstyle: { file: { "@name": "", error: findings.map(errorOf) } } })),
          2,
        );
  let files = 0;
  const own = new Map<string, Part[]>();
  const included = new Map<string, Part[]>();
  const partsOf = (of: Map<string, Part[]>, path: string): Part[] => {
    let parts = of.get(path);
    if (!parts) {
      parts = [];
      of.set(path, parts);
    }
    return parts;
  };
  return {
    add({ path, findings }) {
      const shown = findings.filter(inSight);
      const elsewhere = shown.filter(({ file }) => file !== path);
      for (const finding of elsewhere)
        partsOf(own.has(finding.file) ? own : included, finding.file).push(errors([finding]));
      // What other files' reports have said of this one stands before.
      const parts = partsOf(own, path);
      const before = included.get(path);
      if (before) parts.push(...before);
      included.delete(path);
      const piece = errors(elsewhere.length === 0 ? shown : shown.filter(({ file }) => file === path));
      if (piece !== "") parts.push({ from: files, to: files + 1 });
      files++;
      return piece;
    },
    *end() {
      const head = { "?xml": { "@version": "1.0", "@encoding": "UTF-8" } };
      if (files === 0) {
        yield builder.build({ ...head, checkstyle: { "@version": "8.0" } });
        return;
      }
      const frame: string = builder.build({ ...head, checkstyle: { "@version": "8.0", file: "" } });
      const [open, close] = frame.split("  <file/>\n");
      yield open;
      for (const [path, parts] of [...own, ...included]) {
        const element = linesWithin(builder.build(cleanXml({ checkstyle: { file: { "@name": path } } })), 1);
        if (parts.length === 0) yield element;
        else {
          yield element.replace(/\/>\n$/, ">\n");
          yield* parts;
          yield "  </file>\n";
        }
      }
      yield close;
    },
  };
}

function errorOf(finding: ReportFinding) {
  return {
    "@line": finding.range.start.line + 1,
    "@column": finding.range.start.character + 1,
    "@severity": finding.waived ? "info" : severities[finding.severity],
    "@message": messageOf(finding),
    "@source": `derate.${finding.rule}`,
  };
}
