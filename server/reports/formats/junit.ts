/** JUnit XML, as CI services read it: a suite for each file, a case for each finding, one for a file without any. */
import { XMLBuilder } from "fast-xml-parser";
import type { FileReport, ReportFinding } from "../report.ts";
import { ranks, stands } from "../summary.ts";
import type { ReportWriter } from "../writer.ts";
import type { FormatContext } from "./index.ts";
import { cleanXml, linesWithin } from "./xml.ts";

export function junitWriter({ failOn }: FormatContext): ReportWriter {
  const fails = (finding: ReportFinding) => stands(finding) && ranks[finding.severity] >= ranks[failOn];
  const builder = new XMLBuilder({
    ignoreAttributes: false,
    attributeNamePrefix: "@",
    format: true,
    suppressEmptyNode: true,
    suppressBooleanAttributes: false,
  });
  let files = 0;
  let tests = 0;
  let failures = 0;
  return {
    add(report) {
      const suite = suiteOf(report, fails);
      files++;
      tests += suite["@tests"];
      failures += suite["@failures"];
      return linesWithin(builder.build(cleanXml({ testsuites: { testsuite: suite } })), 1);
    },
    end() {
      const open = { "@name": "derate", "@tests": tests, "@failures": failures };
      const frame: string = builder.build(
        cleanXml({
          "?xml": { "@version": "1.0", "@encoding": "UTF-8" },
          testsuites: files > 0 ? { ...open, testsuite: "" } : open,
        }),
      );
      if (files === 0) return [frame];
      const [head, foot] = frame.split("  <testsuite/>\n");
      return [head, { from: 0, to: files }, foot];
    },
  };
}

function suiteOf(report: FileReport, fails: (finding: ReportFinding) => boolean) {
  const cases =
    report.findings.length === 0
      ? [nothingFound(report)]
      : report.findings.map((finding) => testCase(finding, fails(finding)));
  return {
    "@name": report.path,
    "@tests": cases.length,
    "@failures": report.findings.filter(fails).length,
    "@errors": 0,
    "@skipped": cases.filter((one) => "skipped" in one).length,
    properties: {
      property: [
        { "@name": "checked", "@value": report.checked },
        { "@name": "unchecked", "@value": report.unchecked },
      ],
    },
    testcase: cases,
  };
}

function nothingFound(report: FileReport) {
  return {
    "@name": `nothing found among ${report.checked} limits; ${report.unchecked} not checked`,
    "@classname": "derate",
    "@file": report.path,
  };
}

function testCase(finding: ReportFinding, fails: boolean) {
  const place = `${finding.file}:${finding.range.start.line + 1}:${finding.range.start.character + 1}`;
  const words = `${place}\n${finding.text.trim()}\n${finding.message}`;
  return {
    "@name": `${finding.rule} ${finding.on.join(" ")}`.trim(),
    "@classname": finding.rule.split("/")[0],
    "@file": finding.file,
    "@line": finding.range.start.line + 1,
    ...(fails
      ? { failure: { "@message": finding.message, "@type": finding.severity, "#text": words } }
      : finding.waived
        ? { skipped: { "@message": `waived: ${finding.waived.reason}` }, "system-out": words }
        : finding.known
          ? { skipped: { "@message": "known from the baseline" }, "system-out": words }
          : finding.severity === "unchecked"
            ? { skipped: { "@message": finding.message } }
            : { "system-out": `${finding.severity}: ${words}` }),
  };
}
