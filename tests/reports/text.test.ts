import { describe, expect, it } from "vitest";
import { reportOf } from "../../server/reports/report.ts";
import { style } from "../../server/reports/style.ts";
import { summarise } from "../../server/reports/summary.ts";
import { textReport } from "../../server/reports/text.ts";
import { fakeResult } from "./fake.ts";

const plain = { style: style(false), width: 100 };
const text = `amp "Test"\nHT3 -- capacitor C22 16u 400V electrolytic -- gnd\n\tHT3 -- resistor R5 100k -- p1\n`;

describe("text report", () => {
  it("shows the sentence, the place, the line and a marker of the place's length under it", () => {
    const report = reportOf(fakeResult({ "a.ampnet": text }, [{ at: "C22 16u 400V" }]));
    expect(textReport([report], plain).split("\n").slice(0, 5)).toEqual([
      "error: C22 sees 437 V in cold start at high mains; rated 400 V, over by 9 %.",
      "  a.ampnet:2:18  rating/capacitor-voltage",
      "  2 │ HT3 -- capacitor C22 16u 400V electrolytic -- gnd",
      "    │                  ^^^^^^^^^^^^",
      "",
    ]);
  });

  it("keeps tabs before the marker, so that it stands under its place", () => {
    const report = reportOf(fakeResult({ "a.ampnet": text }, [{ at: "R5" }]));
    const lines = textReport([report], plain).split("\n");
    const source = lines.findIndex((line) => line.includes("\tHT3"));
    expect(lines[source + 1]).toBe("    │ \t                ^^");
  });

  it("shows related places, and names the file when it is another", () => {
    const report = reportOf(
      fakeResult({ "a.ampnet": text, "b.ampnet": "valve V5 EZ81\n" }, [
        {
          at: "C22",
          related: [
            { on: "R5", message: "feeds it", at: "R5 100k" },
            { on: "V5", message: "the rectifier", at: "V5", in: "b.ampnet" },
          ],
        },
      ]),
    );
    const page = textReport([report], plain);
    expect(page).toContain(
      "  feeds it\n  3 │ \tHT3 -- resistor R5 100k -- p1\n    │ \t                -------\n",
    );
    expect(page).toContain("  the rectifier (b.ampnet:1:7)\n  1 │ valve V5 EZ81\n    │       --\n");
  });

  it("says the line of a related place whose line is already on the page", () => {
    const report = reportOf(
      fakeResult({ "a.ampnet": text }, [
        {
          at: "C22",
          related: [
            { on: "R5", message: "feeds it", at: "R5 100k" },
            { on: "p1", message: "ends here", at: "p1" },
            { on: "C22", message: "the part itself", at: "16u" },
          ],
        },
      ]),
    );
    const page = textReport([report], plain);
    expect(page).toContain("  feeds it\n  3 │");
    expect(page).toContain("  ends here (line 3)\n");
    expect(page).toContain("  the part itself\n");
  });

  it("folds what follows from a finding under it, also what follows from a follower", () => {
    const report = reportOf(
      fakeResult({ "a.ampnet": text }, [
        {
          at: "HT3",
          rule: "circuit/common-cause",
          severity: "advice",
          message: "One cause.",
          on: ["T1"],
          related: [{ on: "C22", message: "passes its limit", at: "C22" }],
        },
        { at: "C22", follows: "circuit/common-cause" },
        {
          at: "R5",
          rule: "rating/resistor-power",
          message: "R5 is hot.",
          on: ["R5"],
          follows: "rating/capacitor-voltage",
        },
        { at: "p1", rule: "valve/grid-open", message: "Apart.", on: ["V1"] },
      ]),
    );
    const lines = textReport([report], plain).split("\n");
    expect(lines.slice(0, 10)).toEqual([
      "advice: One cause.",
      "  a.ampnet:2:1  circuit/common-cause",
      "  2 │ HT3 -- capacitor C22 16u 400V electrolytic -- gnd",
      "    │ ^^^",
      "  from this follows:",
      "    error: C22 sees 437 V in cold start at high mains; rated 400 V, over by 9 %.",
      "      a.ampnet:2:18  rating/capacitor-voltage",
      "    error: R5 is hot.",
      "      a.ampnet:3:18  rating/resistor-power",
      "",
    ]);
    expect(lines[10]).toBe("error: Apart.");
    // Errors alone: the advice is not on the page, so its followers stand for themselves.
    const quiet = textReport([report], { ...plain, quiet: true }).split("\n");
    expect(quiet[0]).toBe("error: C22 sees 437 V in cold start at high mains; rated 400 V, over by 9 %.");
  });

  it("cuts a long line to the page and keeps the place in sight", () => {
    const long = `${"x".repeat(300)} HERE ${"y".repeat(300)}`;
    const report = reportOf(fakeResult({ "a.ampnet": long }, [{ at: "HERE" }]));
    const lines = textReport([report], plain).split("\n");
    const source = lines.findIndex((line) => line.includes("HERE"));
    expect(lines[source].length).toBeLessThanOrEqual(100);
    expect(lines[source].indexOf("HERE")).toBe(lines[source + 1].indexOf("^^^^"));
  });

  it("tells what was not checked and what is waived, and counts both apart", () => {
    const report = reportOf(
      fakeResult({ "a.ampnet": text }, [
        { at: "R5", rule: "rating/unrated", severity: "unchecked", message: "R5: no wattage given." },
        { at: "C22", waived: { reason: "on order", until: "2027-03-01" } },
      ]),
    );
    const page = textReport([report], plain);
    expect(page).toContain("Not checked in a.ampnet:\n     3  R5: no wattage given.\n");
    expect(page).toContain("Waived until 2027-03-01: on order");
    expect(page).toContain("1 file: nothing found among what was checked; 1 waived.");
    expect(page).toContain("10 limits checked, 1 breached; 2 could not be checked.");
  });

  it("never calls a clean result safe, and gives the cautions", () => {
    const page = textReport([reportOf(fakeResult({ "a.ampnet": text }, [], { unchecked: 0 }))], plain);
    expect(page).not.toMatch(/\b(is|are|all) safe\b/);
    expect(page).toContain("never a proof of safety");
    for (const word of ["unplug|pull the mains plug", "discharge", "measure", "one hand", "qualified person"])
      expect(page.replace(/\s+/g, " ")).toMatch(new RegExp(word));
  });

  it("says that nothing was checked when nothing was", () => {
    const page = textReport(
      [reportOf(fakeResult({ "a.ampnet": "" }, [], { checked: 0, unchecked: 0 }))],
      plain,
    );
    expect(page).toContain("Nothing was held against a limit");
  });

  it("shows errors alone with quiet, and no finding with summary", () => {
    const report = reportOf(
      fakeResult({ "a.ampnet": text }, [
        { at: "C22" },
        { at: "R5", severity: "warning", message: "close to it" },
        { at: "p1", severity: "unchecked", message: "not known" },
      ]),
    );
    const quiet = textReport([report], { ...plain, quiet: true });
    expect(quiet).toContain("C22 sees");
    expect(quiet).not.toContain("close to it");
    expect(quiet).not.toContain("not known");
    const summary = textReport([report], { ...plain, summary: true });
    expect(summary).not.toContain("C22 sees");
    expect(summary).toContain("1 error, 1 warning");
  });

  it("uses colours only when it is given them", () => {
    const report = reportOf(fakeResult({ "a.ampnet": text }, [{ at: "C22" }]));
    const control = "\u001b[";
    expect(textReport([report], plain)).not.toContain(control);
    expect(textReport([report], { ...plain, style: style(true) })).toContain(control);
  });
});

describe("what was not checked", () => {
  it("is told by its line, and by its file where that is an included one", () => {
    const lines = textReport(
      [
        reportOf(
          fakeResult({ "a.ampnet": text, "lib/b.ampnet": "\nvalve V5 EZ81\n" }, [
            { at: "R5", severity: "unchecked", message: "R5: wattage." },
            { at: "V5", in: "lib/b.ampnet", severity: "unchecked", message: "V5: hot switching." },
          ]),
        ),
      ],
      plain,
    ).split("\n");
    expect(lines).toContain("     3  R5: wattage.");
    expect(lines).toContain("  lib/b.ampnet:2  V5: hot switching.");
  });
});

describe("summary", () => {
  it("counts a waived breach as breached and not as an error", () => {
    const report = reportOf(
      fakeResult({ "a.ampnet": text }, [
        { at: "C22", waived: { reason: "on order" } },
        { at: "R5", severity: "warning" },
        { at: "p1", rule: "circuit/single-use-net", severity: "warning" },
      ]),
    );
    expect(summarise([report, report])).toEqual({
      files: 2,
      error: 0,
      warning: 4,
      advice: 0,
      waived: 2,
      known: 0,
      checked: 20,
      breached: 4,
      unchecked: 4,
    });
  });
});
