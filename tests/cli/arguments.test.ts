import { describe, expect, it } from "vitest";
import { derate, folder } from "./host.ts";

const cwd = () => folder({ "a.ampnet": 'amp "A"\n' });

describe("help and version", () => {
  it("print to standard output and end with status 0", async () => {
    for (const args of [["--version"], ["-V"]]) {
      const { code, out, err } = await derate(cwd(), args);
      expect({ code, err }).toEqual({ code: 0, err: "" });
      expect(out).toMatch(/^\d+\.\d+\.\d+(-source)?\n$/);
    }
    for (const args of [["--help"], ["-h"], ["help"], ["help", "check"], ["check", "--help"]]) {
      const { code, out, err } = await derate(cwd(), args);
      expect({ code, err }).toEqual({ code: 0, err: "" });
      expect(out).toMatch(/^Usage: derate/);
    }
  });

  it("help names every command, examples, the exit statuses and a caution", async () => {
    const { out } = await derate(cwd(), ["--help"]);
    for (const command of ["check", "volts", "explain", "rules", "format"])
      expect(out).toMatch(new RegExp(`^  ${command} `, "m"));
    expect(out).toContain("Examples:");
    expect(out).toContain("Exit status: 0 nothing at error level, 1 findings at it");
    expect(out).toContain("unplug it");
  });
});

describe("wrong arguments end with status 2 and say what is wrong", () => {
  it.each([
    [[], /^Usage: derate/],
    [["check"], /missing required argument 'path'/],
    [
      ["check", "--nonsense", "a.ampnet"],
      /unknown option '--nonsense'\n"derate check --help" lists its options\./,
    ],
    [
      ["baseline", "write", "--nonsense"],
      /unknown option '--nonsense'\n"derate baseline write --help" lists/,
    ],
    [
      ["chek", "a.ampnet"],
      /unknown command 'chek'\n\(Did you mean check\?\)\n"derate --help" lists the commands/,
    ],
    [["check", "--format", "yaml", "a.ampnet"], /'yaml' is invalid. Allowed choices are text, json/],
    [["check", "--rule", "ratnig=off", "a.ampnet"], /no rule or family is called "ratnig"; "derate rules"/],
    [["check", "--rule", "rating/nothing=off", "a.ampnet"], /is called "rating\/nothing"/],
    [
      ["check", "--fix-dry-run", "--output", "a.json", "a.ampnet"],
      /--fix-dry-run shows a diff and writes no --output/,
    ],
    [["check", "--today", "tomorrow", "a.ampnet"], /--today tomorrow: not a date; write it as 2027-03-01/],
    [["check", "--today", "2027-02-30", "a.ampnet"], /not a date/],
    [["volts"], /missing required argument 'file'/],
    [["volts", "a.ampnet", "b.ampnet"], /too many arguments/],
    [["volts", "--state", "warm", "a.ampnet"], /Allowed choices are cold, standby, idle, drive, pulled/],
    [["volts", "--mains", "none", "a.ampnet"], /Allowed choices are low, nominal, high/],
    [["explain"], /missing required argument 'rule'/],
  ])("%j", async (args, message) => {
    const { code, out, err } = await derate(cwd(), args as string[]);
    expect({ code, out }).toEqual({ code: 2, out: "" });
    expect(err).toMatch(message as RegExp);
    expect(err).not.toMatch(/\n\s+at /);
  });
});
