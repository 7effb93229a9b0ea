import { describe, expect, it, vi } from "vitest";
import { derate, folder } from "./host.ts";

vi.mock("../../server/cli/load.ts", () => ({
  loadCommands: async () => ({}),
  loadChecking: async () => ({
    check: () => {
      throw new TypeError("x is undefined");
    },
  }),
}));

describe("a fault of ours", () => {
  it("ends with status 3 and a plain sentence, without the inner workings", async () => {
    const { code, out, err } = await derate(folder({ "a.ampnet": "" }), ["check", "a.ampnet"]);
    expect({ code, out }).toEqual({ code: 3, out: "" });
    expect(err).toContain("derate: this is a fault of this program, not of your file: x is undefined");
    expect(err).toContain("--debug shows where");
    expect(err).not.toMatch(/\n\s+at /);
  });

  it("shows where with --debug", async () => {
    const { code, err } = await derate(folder({ "a.ampnet": "" }), ["check", "--debug", "a.ampnet"]);
    expect(code).toBe(3);
    expect(err).toMatch(/\n\s+at .*fault\.test\.ts/);
  });
});
