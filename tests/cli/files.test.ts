import {
  chmodSync,
  existsSync,
  lstatSync,
  readdirSync,
  readFileSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { decode, findNetlists, includeReader, readNetlists, writeWhole } from "../../server/cli/files.ts";
import { UsageError } from "../../server/cli/status.ts";
import { folder } from "./host.ts";

describe("finding netlists", () => {
  it("takes files as they are, and searches folders for .ampnet, sorted, each file once", () => {
    const cwd = folder({
      "b.ampnet": "",
      "notes.txt": "",
      "amps/z.ampnet": "",
      "amps/inner/a.ampnet": "",
      "amps/readme.md": "",
      "amps/.hidden/h.ampnet": "",
      "amps/node_modules/n.ampnet": "",
    });
    const paths = findNetlists(["notes.txt", "amps", "amps/z.ampnet", "./b.ampnet", "b.ampnet"], { cwd });
    expect(paths.map(({ path }) => path)).toEqual([
      "notes.txt",
      "amps/inner/a.ampnet",
      "amps/z.ampnet",
      "./b.ampnet",
    ]);
  });

  it("does not follow a link round in a circle, and does follow one to a file", () => {
    const cwd = folder({ "amps/a.ampnet": "", "elsewhere.txt": "x" });
    symlinkSync(join(cwd, "amps"), join(cwd, "amps/round"));
    symlinkSync(join(cwd, "elsewhere.txt"), join(cwd, "amps/linked.ampnet"));
    expect(findNetlists(["amps"], { cwd }).map(({ path }) => path)).toEqual([
      "amps/a.ampnet",
      "amps/linked.ampnet",
    ]);
  });

  it("names every path that is missing and every folder without a netlist at once", () => {
    const cwd = folder({ "empty/notes.txt": "", "a.ampnet": "" });
    expect(() => findNetlists(["gone.ampnet", "a.ampnet", "empty", "a.ampnet/deeper"], { cwd })).toThrow(
      new UsageError(
        "gone.ampnet: no such file or folder\nempty: no .ampnet file in this folder\n" +
          "a.ampnet/deeper: a part of the path is a file, not a folder",
      ),
    );
  });
});

describe("reading", () => {
  it("names every file that can't be read, and gives none of the others", () => {
    const cwd = folder({
      "a.ampnet": "amp",
      "binary.ampnet": new Uint8Array([0x50, 0, 0x51]),
      "latin.ampnet": new Uint8Array([0xb5]),
    });
    symlinkSync(join(cwd, "nowhere"), join(cwd, "dangling.ampnet"));
    const files = findNetlists(["."], { cwd });
    expect(() => readNetlists(files)).toThrow(
      /binary\.ampnet: not a text file in UTF-8.*\ndangling\.ampnet: no such file or folder\nlatin\.ampnet: not a text/,
    );
  });

  it("takes the byte-order mark off", () => {
    expect(decode("a", new Uint8Array([0xef, 0xbb, 0xbf, 0x61]))).toBe("a");
  });

  it("reads an included file once, from the folder that the command runs in", () => {
    const cwd = folder({ "amps/stage.ampnet": "block" });
    const read = includeReader({ cwd });
    expect(read("amps/stage.ampnet")).toBe("block");
    writeFileSync(join(cwd, "amps/stage.ampnet"), "changed");
    expect(read("amps/stage.ampnet")).toBe("block");
    expect(read("amps/gone.ampnet")).toBeUndefined();
  });
});

describe("writing whole", () => {
  it("keeps the mode, keeps a link a link, and leaves nothing else behind", () => {
    const cwd = folder({ "a.ampnet": "old" });
    chmodSync(join(cwd, "a.ampnet"), 0o640);
    symlinkSync(join(cwd, "a.ampnet"), join(cwd, "link.ampnet"));
    writeWhole("link.ampnet", join(cwd, "link.ampnet"), "new");
    expect(readFileSync(join(cwd, "a.ampnet"), "utf8")).toBe("new");
    expect(statSync(join(cwd, "a.ampnet")).mode & 0o777).toBe(0o640);
    expect(lstatSync(join(cwd, "link.ampnet")).isSymbolicLink()).toBe(true);
    expect(readdirSync(cwd).sort()).toEqual(["a.ampnet", "link.ampnet"]);
  });

  it("says why it can't, and leaves the old file as it was", () => {
    const cwd = folder();
    const path = join(cwd, "no/such/a.ampnet");
    expect(() => writeWhole("no/such/a.ampnet", path, "new")).toThrow(
      new UsageError("no/such/a.ampnet: not written: no such file or folder"),
    );
    expect(existsSync(path)).toBe(false);
  });
});
