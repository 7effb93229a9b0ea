/** The help repeats a few lists of the core, so that it needn't load it; here they are held to each other. */
import { describe, expect, it } from "vitest";
import { configName } from "../../server/cli/configuration.ts";
import { formatNames, mainsLevels, severityNames, shells, stateNames } from "../../server/cli/program.ts";
import { configSchema, fileName, regions } from "../../server/config/schema.ts";
import { regions as published } from "../../server/facts/regions.ts";
import { formats } from "../../server/reports/formats/index.ts";
import { ranks } from "../../server/reports/summary.ts";
import { levels } from "../../server/reports/volts.ts";
import { stateWords } from "../../server/reports/voltsText.ts";
import { derate } from "./host.ts";

describe("lists that stand twice", () => {
  it("say the same", () => {
    expect([...formatNames]).toEqual(Object.keys(formats));
    expect([...stateNames]).toEqual(Object.keys(stateWords));
    expect([...mainsLevels]).toEqual([...levels]);
    expect([...severityNames]).toEqual(Object.keys(ranks));
    expect([...regions].sort()).toEqual(Object.keys(published).sort());
    expect(configName).toBe(fileName);
    expect(Object.keys(configSchema.shape)).toContain("extends");
  });
});

describe("shell completion", () => {
  it.each(shells)("%s: names every command and every option of check", async (shell) => {
    const { code, out } = await derate("/", ["completion", shell]);
    expect(code).toBe(0);
    for (const word of [
      "check",
      "volts",
      "explain",
      "baseline",
      "compare",
      "fail-on",
      "fix-dry-run",
      "sarif",
      "mains/fuse-first",
    ])
      expect(out).toContain(word);
  });

  it("takes no other shell", async () => {
    const { code, err } = await derate("/", ["completion", "sh"]);
    expect(code).toBe(2);
    expect(err).toMatch(/Allowed choices are bash, zsh, fish/);
  });
});
