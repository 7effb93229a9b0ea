/** Each format is read back by a parser or validator that isn't ours. */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { DOMParser } from "@xmldom/xmldom";
import Ajv04 from "ajv-draft-04";
import { parse as parseCsv } from "csv-parse/sync";
import fc from "fast-check";
import type { Log } from "sarif";
import { describe, expect, it } from "vitest";
import { type FormatContext, type FormatName, formats } from "../../server/reports/formats/index.ts";
import { uriOf } from "../../server/reports/formats/sarif.ts";
import { type FileReport, reportOf } from "../../server/reports/report.ts";
import { style } from "../../server/reports/style.ts";
import { rules } from "../../server/rules/index.ts";
import type { Rule } from "../../server/rules/rule.ts";
import { fakeResult } from "./fake.ts";

const text = `HT3 -- capacitor C22 16u 400V electrolytic -- gnd\nHT3 -- resistor R5 100k -- p1 # "5 %" | <b>\n`;

const sample: FileReport[] = [
  reportOf(
    fakeResult({ "amps/one two.ampnet": text }, [
      {
        at: "C22",
        state: "cold",
        mains: "high",
        value: 437,
        limit: 400,
        unit: "V",
        source: "the file",
        related: [{ on: "R5", message: "feeds it", at: "R5 100k" }],
      },
      {
        at: "R5",
        rule: "rating/resistor-power",
        severity: "warning",
        on: ["R5"],
        message: 'R5: 95 %, past | 50 %,\nof "practice" <b>',
      },
      {
        at: "p1",
        rule: "circuit/single-use-net",
        severity: "advice",
        on: ["p1"],
        message: "p1 is named once.",
      },
      { at: "HT3", rule: "rating/unrated", severity: "unchecked", on: ["R5"], message: "R5: no wattage." },
      { at: "16u", rule: "rating/capacitor-ripple", waived: { reason: "on order", until: "2027-03-01" } },
    ]),
  ),
  reportOf(fakeResult({ "amps/good.ampnet": "" }, [])),
];
const rule: Rule = {
  id: "rating/capacitor-voltage",
  severity: "error",
  sentence: "A capacitor sees more than it is rated for.",
  why: "It breaks down.",
  source: "common practice",
  quiet: "Never.",
  caution: "Unplug it.",
  bad: "a",
  good: "b",
  check: () => [],
};
const context: FormatContext = {
  rules: [rule],
  version: "1.2.3",
  failOn: "error",
  text: { style: style(false), width: 100 },
};
const made = (
  name: FormatName,
  reports: readonly FileReport[] = sample,
  with_: Partial<FormatContext> = {},
) => formats[name](reports, { ...context, ...with_ });

const sarifSchema = JSON.parse(
  readFileSync(
    createRequire(import.meta.url).resolve("@microsoft/jest-sarif/lib/schemas/sarif-2.1.0-rtm.5.json"),
    "utf8",
  ),
);
const validSarif = new Ajv04({ strict: false, validateFormats: false, unicodeRegExp: false }).compile(
  sarifSchema,
);

describe("SARIF", () => {
  it("is valid by the OASIS schema, with the whole catalogue too", () => {
    for (const log of [made("sarif"), made("sarif", sample, { rules }), made("sarif", [])]) {
      expect(validSarif(JSON.parse(log)) || validSarif.errors).toBe(true);
    }
  });

  it("has places from one, the rule's help, waivers as suppressions, and the unchecked as open", () => {
    const [run] = (JSON.parse(made("sarif")) as Log).runs;
    const [first, , , unchecked, waived] = run.results ?? [];
    expect(first).toMatchObject({
      ruleId: "rating/capacitor-voltage",
      ruleIndex: 0,
      level: "error",
      kind: "fail",
      locations: [
        {
          physicalLocation: {
            artifactLocation: { uri: "amps/one%20two.ampnet" },
            region: { startLine: 1, startColumn: 18, endLine: 1, endColumn: 21 },
          },
          logicalLocations: [{ name: "C22" }],
        },
      ],
      relatedLocations: [
        { message: { text: "feeds it" }, physicalLocation: { region: { startLine: 2, startColumn: 17 } } },
      ],
      properties: { state: "cold", mains: "high", value: 437, limit: 400, unit: "V" },
    });
    expect(unchecked).toMatchObject({ kind: "open", level: "none" });
    expect(waived.suppressions).toEqual([
      { kind: "inSource", status: "accepted", justification: "on order" },
    ]);
    expect(run.tool.driver.rules?.[0]).toMatchObject({
      id: rule.id,
      fullDescription: { text: rule.why },
      defaultConfiguration: { level: "error" },
    });
    expect(run.tool.driver.rules?.[0].help?.text).toContain("Caution: Unplug it.");
  });

  it("writes paths as URIs", () => {
    expect(uriOf("./a b/ü#1.ampnet")).toBe("a%20b/%C3%BC%231.ampnet");
    expect(uriOf("/a/b.ampnet")).toBe("file:///a/b.ampnet");
    expect(uriOf("C:/a/b.ampnet")).toBe("file:///C:/a/b.ampnet");
  });

  it("names a finding the same when lines move, and no two alike", () => {
    const prints = (source: string) => {
      const result = fakeResult({ "a.ampnet": source }, [
        { at: "C22" },
        { at: "R5", on: ["C22"] },
        { at: "p1", on: [], rule: "circuit/syntax" },
      ]);
      const log = JSON.parse(made("sarif", [reportOf(result)])) as Log;
      return log.runs[0].results?.map(({ partialFingerprints }) => partialFingerprints?.["derate/v1"]);
    };
    const before = prints(text);
    expect(prints(`# a comment\n\n${text}`)).toEqual(before);
    expect(new Set(before).size).toBe(3);
    for (const print of before ?? []) expect(print).toMatch(/^[0-9a-f]{16}$/);
  });
});

const xml = (source: string) => {
  const faults: string[] = [];
  const document = new DOMParser({
    onError: (level, message) => {
      if (!message.includes("Unicode replacement character")) faults.push(`${level}: ${message}`);
    },
  }).parseFromString(source, "text/xml");
  expect(faults).toEqual([]);
  return document;
};

describe("JUnit XML", () => {
  it("has a suite for each file and a failure for each error", () => {
    const document = xml(made("junit"));
    const suites = [...document.getElementsByTagName("testsuite")];
    expect(
      suites.map((suite) => ["name", "tests", "failures", "skipped"].map((name) => suite.getAttribute(name))),
    ).toEqual([
      ["amps/one two.ampnet", "5", "1", "2"],
      ["amps/good.ampnet", "1", "0", "0"],
    ]);
    const failures = [...document.getElementsByTagName("failure")];
    expect(failures.map((failure) => failure.getAttribute("message"))).toEqual([
      sample[0].findings[0].message,
    ]);
    expect(failures[0].textContent).toContain("amps/one two.ampnet:1:18");
    expect([...document.getElementsByTagName("skipped")].map((one) => one.getAttribute("message"))).toEqual([
      "R5: no wattage.",
      "waived: on order",
    ]);
  });

  it("fails what the policy fails", () => {
    const document = xml(made("junit", sample, { failOn: "warning" }));
    expect(document.getElementsByTagName("failure")).toHaveLength(2);
    expect(document.documentElement?.getAttribute("failures")).toBe("2");
  });
});

describe("Checkstyle XML", () => {
  it("has every standing finding under its file", () => {
    const document = xml(made("checkstyle"));
    expect([...document.getElementsByTagName("file")].map((file) => file.getAttribute("name"))).toEqual([
      "amps/one two.ampnet",
      "amps/good.ampnet",
    ]);
    const errors = [...document.getElementsByTagName("error")];
    expect(errors.map((error) => error.getAttribute("severity"))).toEqual([
      "error",
      "warning",
      "info",
      "info",
    ]);
    expect(errors[1].getAttribute("message")).toBe('R5: 95 %, past | 50 %, of "practice" <b>');
  });
});

describe("workflow commands", () => {
  it("GitHub's: one line each, escaped, read back as they were", () => {
    const lines = made("github").trimEnd().split("\n");
    expect(lines).toHaveLength(3);
    const unescaped = (part: string) =>
      part
        .replaceAll("%2C", ",")
        .replaceAll("%3A", ":")
        .replaceAll("%0A", "\n")
        .replaceAll("%0D", "\r")
        .replaceAll("%25", "%");
    const read = lines.map((line) => {
      const [, command, properties, message] = /^::(\w+) ([^:]*)::(.*)$/.exec(line) ?? [];
      const pairs = properties.split(",").map((pair) => pair.split("=") as [string, string]);
      return {
        command,
        message: unescaped(message),
        ...Object.fromEntries(pairs.map(([key, value]) => [key, unescaped(value)])),
      };
    });
    expect(read[0]).toEqual({
      command: "error",
      message: sample[0].findings[0].message,
      file: "amps/one two.ampnet",
      line: "1",
      endLine: "1",
      col: "18",
      endColumn: "21",
      title: "rating/capacitor-voltage",
    });
    expect(read[1]).toMatchObject({ command: "warning", message: sample[0].findings[1].message });
    expect(read[2].command).toBe("notice");
  });

  it("Azure's: one line each", () => {
    const lines = made("azure").trimEnd().split("\n");
    expect(lines).toHaveLength(3);
    expect(lines[0]).toBe(
      "##vso[task.logissue type=error;sourcepath=amps/one two.ampnet;linenumber=1;columnnumber=18;code=rating/capacitor-voltage]" +
        sample[0].findings[0].message.replaceAll("%", "%AZP25").replaceAll(";", "%3B"),
    );
  });
});

describe("code quality", () => {
  it("has what GitLab reads: description, check, fingerprint, severity, place", () => {
    const issues = JSON.parse(made("gitlab"));
    expect(issues).toHaveLength(4);
    expect(issues[0]).toMatchObject({
      check_name: "rating/capacitor-voltage",
      severity: "critical",
      location: { path: "amps/one two.ampnet", lines: { begin: 1 } },
    });
    expect(new Set(issues.map(({ fingerprint }: { fingerprint: string }) => fingerprint)).size).toBe(4);
  });
});

describe("Markdown", () => {
  it("has the counts, a row for each standing finding, what is waived, and the cautions", () => {
    const page = made("markdown");
    const rows = page.split("\n").filter((line) => line.startsWith("| ") && !line.startsWith("| ---"));
    expect(rows.slice(1).map((row) => row.split(" | ")[0])).toEqual(["| error", "| warning", "| advice"]);
    // A bar that isn't escaped would start another cell.
    for (const row of rows) expect(row.match(/(?<!\\)\|/g)).toHaveLength(4);
    expect(page).not.toContain("<b>");
    expect(page).toContain("Waived until 2027-03-01: on order");
    expect(page).toContain("never a proof of safety");
  });

  it("stays within what a forge takes, and says how much it left out", () => {
    const many = fakeResult(
      { "a.ampnet": text },
      Array.from({ length: 2000 }, (_, i) => ({ at: "C22", on: [`C${i}`] })),
    );
    const page = made("markdown", [reportOf(many)]);
    expect(page.length).toBeLessThan(65_536);
    const rows = page.split("\n").filter((line) => line.startsWith("| error")).length;
    expect(page).toContain(`and ${2000 - rows} more.`);
    expect(page).toContain("never a proof of safety");
  });
});

describe("CSV of margins", () => {
  it("has a row for every limit, read back field by field", () => {
    const result = fakeResult({ "a,b.ampnet": text }, [], {
      margins: [
        {
          on: "C22",
          rule: "rating/capacitor-voltage",
          value: 437,
          limit: 400,
          unit: "V",
          breach: "above",
          state: "cold",
          mains: "high",
          source: 'the "file", line 1',
        },
        {
          on: "V1",
          rule: "valve/heater-voltage",
          value: 6.3,
          limit: 5.67,
          unit: "V",
          breach: "below",
          source: "=SUM(A1)",
        },
      ],
    });
    const rows = parseCsv(made("csv", [reportOf(result, { margins: true })]), { columns: true }) as Record<
      string,
      string
    >[];
    expect(rows).toEqual([
      {
        file: "a,b.ampnet",
        on: "C22",
        rule: "rating/capacitor-voltage",
        state: "cold",
        mains: "high",
        value: "437",
        limit: "400",
        unit: "V",
        used_percent: "109.3",
        within: "no",
        source: 'the "file", line 1',
      },
      {
        file: "a,b.ampnet",
        on: "V1",
        rule: "valve/heater-voltage",
        state: "",
        mains: "",
        value: "6.3",
        limit: "5.67",
        unit: "V",
        used_percent: "90.0",
        within: "yes",
        source: "'=SUM(A1)",
      },
    ]);
  });
});

describe("any text in a message", () => {
  it("keeps every format readable", () => {
    fc.assert(
      fc.property(
        fc.string({ unit: "binary", maxLength: 60 }),
        fc.string({ unit: "grapheme", maxLength: 20 }),
        (message, on) => {
          const report = reportOf(
            fakeResult({ "a.ampnet": text }, [{ at: "C22", message: `m${message}`, on: [on] }]),
          );
          const log = JSON.parse(made("sarif", [report]));
          expect(validSarif(log) || validSarif.errors).toBe(true);
          xml(made("junit", [report]));
          xml(made("checkstyle", [report]));
          expect(made("github", [report]).trimEnd().split(/\r?\n/)).toHaveLength(1);
          expect(made("azure", [report]).trimEnd().split(/\r?\n/)).toHaveLength(1);
          JSON.parse(made("gitlab", [report]));
          JSON.parse(made("json", [report]));
        },
      ),
      { numRuns: 200 },
    );
  });
});
