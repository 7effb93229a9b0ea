/** A waived error of the mains or the earth stays in sight, as waived and with its reason, in every report. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { type FormatName, formats } from "../../server/reports/formats/index.ts";
import { reportOf } from "../../server/reports/report.ts";
import { style } from "../../server/reports/style.ts";
import { ruleById, rules } from "../../server/rules/index.ts";

const REASON = "new cord on order, not in use";
const cases = [
  ["mains/switch-active", "S1"],
  ["mains/fuse-tip", "F1"],
  ["earth/own-fixing", "E1"],
] as const;

const waived = (rule: string, on: string) => {
  const text = `${ruleById.get(rule)?.bad}waive ${rule} on ${on} because "${REASON}" until 2026-12-31\n`;
  return check("bench.ampnet", text, { today: "2026-01-15" });
};

describe.each(cases)("a waived %s on %s", (rule, on) => {
  const result = waived(rule, on);
  const reports = [reportOf(result)];

  it("is among the findings, an error still", () => {
    const [found] = result.findings.filter((finding) => finding.rule === rule);
    expect(found.severity).toBe("error");
    expect(found.waived).toEqual({ reason: REASON, until: "2026-12-31" });
  });

  // A margin table (csv) has limits in it, and no findings.
  const names = (Object.keys(formats) as FormatName[]).filter((name) => name !== "csv");
  it.each(names)("is in the %s report, with its reason", (name) => {
    const text = formats[name](reports, {
      rules,
      version: "0",
      failOn: "error",
      text: { style: style(false), width: 100 },
    });
    expect(text).toContain(rule);
    expect(text.replace(/\s+/g, " ")).toContain(REASON);
    expect(text.toLowerCase()).toMatch(/waived|suppressions/);
  });
});
