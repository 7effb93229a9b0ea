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
import { decode, findNetlists, includeReader, readNetlist } from "../../server/cli/files.ts";
import { ignoring } from "../../server/cli/ignore.ts";
import { UsageError } from "../../server/cli/status.ts";
import { readOr } from "../../server/cli/unread.ts";
import { writeWhole } from "../../server/cli/write.ts";
import { folder } from "./host.ts";

describe("finding netlists", () => {
  it("takes files as they are, and searches folders for .ampnet, sorted, each file once", async () => {
    const cwd = folder({
      "b.ampnet": "",
      "notes.txt": "",
      "amps/z.ampnet": "",
      "amps/inner/a.ampnet": "",
      "amps/readme.md": "",
      "amps/.hidden/h.ampnet": "",
      "amps/node_modules/n.ampnet": "",
    });
    const { files } = await findNetlists(["notes.txt", "amps", "amps/z.ampnet", "./b.ampnet", "b.ampnet"], {
      cwd,
    });
    expect(files.map(({ path }) => path)).toEqual([
      "notes.txt",
      "amps/inner/a.ampnet",
      "amps/z.ampnet",
      "./b.ampnet",
    ]);
  });

  it("does not follow a link round in a circle, and does follow one to a file", async () => {
    const cwd = folder({ "amps/a.ampnet": "", "elsewhere.txt": "x" });
    symlinkSync(join(cwd, "amps"), join(cwd, "amps/round"));
    symlinkSync(join(cwd, "elsewhere.txt"), join(cwd, "amps/linked.ampnet"));
    expect((await findNetlists(["amps"], { cwd })).files.map(({ path }) => path)).toEqual([
      "amps/a.ampnet",
      "amps/linked.ampnet",
    ]);
  });

  it("names every path that is missing and every folder without a netlist at once", async () => {
    const cwd = folder({ "empty/notes.txt": "", "a.ampnet": "" });
    await expect(
      findNetlists(["gone.ampnet", "a.ampnet", "empty", "a.ampnet/deeper"], { cwd }),
    ).rejects.toThrow(
      new UsageError(
        "gone.ampnet: no such file or folder; mind its spelling, and the folder that derate runs in\n" +
          "empty: no .ampnet file in this folder; netlists are looked for by that ending\n" +
          "a.ampnet/deeper: a part of the path is a file, not a folder",
      ),
    );
  });
});

describe("patterns", () => {
  it("find what matches, sorted, hidden folders and node_modules left out", async () => {
    const cwd = folder({
      "amps/b.ampnet": "",
      "amps/in/a.ampnet": "",
      "amps/c.txt": "",
      "node_modules/n.ampnet": "",
    });
    const of = async (...patterns: string[]) =>
      (await findNetlists(patterns, { cwd })).files.map(({ path }) => path);
    expect(await of("**/*.ampnet")).toEqual(["amps/b.ampnet", "amps/in/a.ampnet"]);
    expect(await of("amps/*.{ampnet,txt}", "amps/b.ampnet")).toEqual(["amps/b.ampnet", "amps/c.txt"]);
  });

  it("that match nothing are told, and a file whose name looks like one is that file", async () => {
    const cwd = folder({ "a[1].ampnet": "" });
    await expect(findNetlists(["*.net"], { cwd })).rejects.toThrow(
      new UsageError(
        "*.net: no file matches this pattern; mind its spelling, and the folder that derate runs in",
      ),
    );
    expect((await findNetlists(["a[1].ampnet"], { cwd })).files.map(({ path }) => path)).toEqual([
      "a[1].ampnet",
    ]);
  });
});

describe("what a search leaves out", () => {
  it("is in .derateignore files of the folders above and below, and in the configuration", async () => {
    const cwd = folder({
      ".derateignore": "old/\n*.draft.ampnet\n",
      "amps/a.ampnet": "",
      "amps/b.draft.ampnet": "",
      "amps/old/c.ampnet": "",
      "amps/bench/.derateignore": "d.ampnet\n!keep.draft.ampnet\n",
      "amps/bench/d.ampnet": "",
      "amps/bench/e.ampnet": "",
      "amps/made/f.ampnet": "",
    });
    const leaves = ignoring([{ folder: `${cwd}/amps`, patterns: ["/made"] }]);
    const { files, ignored } = await findNetlists(["amps"], { cwd }, () => leaves);
    expect(files.map(({ path }) => path)).toEqual(["amps/a.ampnet", "amps/bench/e.ampnet"]);
    expect(ignored).toBe(4);
  });

  it("is never a file that was named, and a search that is left with nothing says so", async () => {
    const cwd = folder({ ".derateignore": "*.ampnet\n", "a.ampnet": "" });
    const leaves = ignoring([]);
    expect((await findNetlists(["a.ampnet"], { cwd }, () => leaves)).files).toHaveLength(1);
    await expect(findNetlists(["."], { cwd }, () => leaves)).rejects.toThrow(
      new UsageError(".: no .ampnet file in this folder that isn't ignored (1 are)"),
    );
    await expect(findNetlists(["*.ampnet"], { cwd }, () => leaves)).rejects.toThrow(
      /every file that matches this pattern is ignored/,
    );
  });
});

describe("reading", () => {
  it("says of each file why it can't be read", async () => {
    const cwd = folder({
      "a.ampnet": "amp",
      "binary.ampnet": new Uint8Array([0x50, 0, 0x51]),
      "latin.ampnet": new Uint8Array([0xb5]),
    });
    symlinkSync(join(cwd, "nowhere"), join(cwd, "dangling.ampnet"));
    const { files } = await findNetlists(["."], { cwd });
    const whys = files.map((file) => readOr(() => readNetlist(file)));
    expect(whys).toEqual([
      { value: "amp" },
      { why: expect.stringMatching(/^binary\.ampnet: not a text file in UTF-8/) },
      { why: expect.stringMatching(/^dangling\.ampnet: no such file or folder; mind /) },
      { why: expect.stringMatching(/^latin\.ampnet: not a text/) },
    ]);
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
      new UsageError("no/such/a.ampnet: not written: no such file or folder; make its folder first"),
    );
    expect(existsSync(path)).toBe(false);
  });
});
