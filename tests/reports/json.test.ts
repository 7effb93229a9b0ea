import { describe, expect, it } from "vitest";
import { jsonReport } from "../../server/reports/json.ts";
import { reportOf } from "../../server/reports/report.ts";
import { checkSchema } from "../../server/reports/schema.ts";
import { fakeResult } from "./fake.ts";

const text = `HT3 -- capacitor C22 16u 400V electrolytic -- gnd\nHT3 -- resistor R5 100k -- p1\n`;

describe("JSON of findings", () => {
  it("has the promised shape, with every value where it belongs", () => {
    const result = fakeResult({ "samples/a.ampnet": text }, [
      {
        at: "C22",
        state: "cold",
        mains: "high",
        value: 437,
        limit: 400,
        unit: "V",
        source: "the file",
        related: [{ on: "R5", message: "feeds it", at: "R5" }],
      },
      { at: "R5", severity: "advice", waived: { reason: "kept as found", until: "2027-03-01" } },
    ]);
    const data = checkSchema.parse(JSON.parse(jsonReport([reportOf(result)])));
    const [file] = data.files;
    expect(file).toMatchObject({ path: "samples/a.ampnet", checked: 10, unchecked: 2 });
    expect(file.findings[0]).toMatchObject({
      rule: "rating/capacitor-voltage",
      severity: "error",
      on: ["C22"],
      range: { start: { line: 0, character: 17 }, end: { line: 0, character: 20 } },
      related: [
        {
          on: "R5",
          message: "feeds it",
          range: { start: { line: 1, character: 16 }, end: { line: 1, character: 18 } },
        },
      ],
      state: "cold",
      mains: "high",
      value: 437,
      limit: 400,
      unit: "V",
      source: "the file",
      waived: null,
      file: "samples/a.ampnet",
      text: "HT3 -- capacitor C22 16u 400V electrolytic -- gnd",
    });
    expect(file.findings[1]).toMatchObject({
      state: null,
      value: null,
      waived: { reason: "kept as found", until: "2027-03-01" },
    });
  });

  it("writes null where a number is none", () => {
    const result = fakeResult({ "a.ampnet": text }, [
      { at: "C22", value: Number.POSITIVE_INFINITY, limit: Number.NaN },
    ]);
    const [finding] = checkSchema.parse(JSON.parse(jsonReport([reportOf(result)]))).files[0].findings;
    expect(finding).toMatchObject({ value: null, limit: null });
  });

  it("offers fixes only when asked, since each is tried first", () => {
    let tried = 0;
    const result = fakeResult({ "a.ampnet": text }, [{ at: "C22" }]);
    const [finding] = result.findings;
    const withFix = Object.defineProperty({ ...finding }, "fix", {
      enumerable: true,
      get: () => {
        tried++;
        return { title: "rate it at 450 V", edits: [{ place: finding.place, text: "C22 450V" }] };
      },
    });
    expect(reportOf({ ...result, findings: [withFix] }).findings[0].fix).toBeNull();
    expect(tried).toBe(0);
    expect(reportOf({ ...result, findings: [withFix] }, { fixes: true }).findings[0].fix).toEqual({
      title: "rate it at 450 V",
      edits: [
        {
          file: "a.ampnet",
          range: { start: { line: 0, character: 17 }, end: { line: 0, character: 20 } },
          text: "C22 450V",
        },
      ],
    });
  });
});
