import { readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { format } from "../../grammar/format.ts";
import { derate, folder } from "./host.ts";

const untidy = `amp   "A"\n\n\nin --   resistor R3   1M 0.5W -- gnd\nlonger -- resistor R30 1M 0.5W -- gnd # why\n`;
const tidy = format(untidy);

describe("derate format", () => {
  it("changes the files that need it, tells which, and leaves the others untouched", async () => {
    const cwd = folder({ "tidy.ampnet": tidy, "untidy.ampnet": untidy });
    const before = statSync(join(cwd, "tidy.ampnet"));
    const { code, out } = await derate(cwd, ["format", "."]);
    expect({ code, out }).toEqual({
      code: 0,
      out: "untidy.ampnet: formatted\n1 file changed, 1 already in order.\n",
    });
    expect(readFileSync(join(cwd, "untidy.ampnet"), "utf8")).toBe(tidy);
    expect(statSync(join(cwd, "tidy.ampnet"))).toMatchObject({ ino: before.ino, mtimeMs: before.mtimeMs });
  });

  it("with --check changes nothing, names what would change, and ends with 1", async () => {
    const cwd = folder({ "tidy.ampnet": tidy, "untidy.ampnet": untidy });
    const { code, out } = await derate(cwd, ["format", "--check", "."]);
    expect({ code, out }).toEqual({ code: 1, out: "untidy.ampnet: would change\n" });
    expect(readFileSync(join(cwd, "untidy.ampnet"), "utf8")).toBe(untidy);
    expect(await derate(cwd, ["format", "--check", "tidy.ampnet"])).toEqual({
      code: 0,
      out: "1 file in order.\n",
      err: "",
    });
  });

  it("sets the others in order where one can't be read, says which, and ends with 2", async () => {
    const cwd = folder({ "a.ampnet": untidy, "b.ampnet": new Uint8Array([0xff, 0xfe]), "c.ampnet": tidy });
    expect(await derate(cwd, ["format", "--check", "."])).toEqual({
      code: 2,
      out: "a.ampnet: would change\n",
      err: expect.stringMatching(/^derate: b\.ampnet: not a text file in UTF-8[^\n]*\n$/),
    });
    expect(await derate(cwd, ["format", "."])).toEqual({
      code: 2,
      out: "a.ampnet: formatted\n1 file changed, 1 already in order.\n",
      err: expect.stringMatching(/^derate: b\.ampnet: not a text file in UTF-8[^\n]*\n$/),
    });
    expect(readFileSync(join(cwd, "a.ampnet"), "utf8")).toBe(tidy);
    expect(readFileSync(join(cwd, "b.ampnet"))).toEqual(Buffer.from([0xff, 0xfe]));
  });
});
