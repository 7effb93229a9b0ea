import { describe, expect, it } from "vitest";
import { join } from "../../server/config/path.ts";
import { readConfig } from "../../server/config/read.ts";
import { Configurations } from "../../server/config/resolve.ts";

const rules = [
  { id: "rating/resistor-power", severity: "error" as const },
  { id: "mains/fuse-first", severity: "error" as const },
  { id: "mains/either-way-round", severity: "warning" as const },
];
const told = (text: string) =>
  readConfig("c.json", text, rules).problems.map(
    ({ range: { start, end }, message }) => `${start.line}:${start.character}-${end.character} ${message}`,
  );

describe("reading a configuration", () => {
  it("takes comments and trailing commas, and every setting", () => {
    const text = `{
      // a shop's own
      "severity": { "rating": "warning", "mains/either-way-round": "off", },
      "margins": { "resistor": 0.5 },
      "region": "AU", "ambient": 45, "ignore": ["old/"],
      "overrides": [{ "files": ["bench/**"], "ambient": 25 }]
    }`;
    const { config, problems } = readConfig("c.json", text, rules);
    expect(problems).toEqual([]);
    expect(config).toMatchObject({
      region: "AU",
      ambient: 45,
      overrides: [{ files: ["bench/**"], ambient: 25 }],
    });
  });

  it.each([
    ['{ "severty": {} }', ['0:2-11 no setting is called "severty"; meant: "severity"?']],
    ['{\n  "region": "OZ"\n}', [/^1:12-16 region: .*"AU"/]],
    ['{ "ambient": "hot" }', [/^0:13-18 ambient: .*degrees Celsius/]],
    ['{ "margins": { "resistor": 50 } }', [/^0:27-29 margins\.resistor: /]],
    [
      '{ "severity": { "rating/resistor-powr": "off" } }',
      ['0:16-38 no rule or family is called "rating/resistor-powr"; meant: "rating/resistor-power"?'],
    ],
    ['{ "severity": { "resistor-power": "off" } }', [/meant: "rating\/resistor-power"\?$/]],
    [
      '{ "severity": { "mains/fuse-first": "off" } }',
      [/^0:16-34 mains\/fuse-first stays an error: .*waived in the netlist, with a reason/],
    ],
    [
      '{ "overrides": [{ "files": [], "ambiant": 3 }] }',
      [/overrides\.0\.files/, /no setting is called "ambiant"; meant: "ambient"\?$/],
    ],
    ['{ "region": "AU" "ambient": 3 }', [/^0:17-26 a comma was expected here/]],
    ['{ "region": ', [/a value was expected here/, /a closing brace/]],
    ["", [/empty file/]],
    ["[]", [/^0:0-2 the file: /]],
  ])("tells what is wrong at its place: %s", (text, expected) => {
    const messages = told(text);
    expect(messages).toHaveLength(expected.length);
    for (const [index, one] of expected.entries()) {
      if (typeof one === "string") expect(messages[index]).toBe(one);
      else expect(messages[index]).toMatch(one);
    }
  });
});

describe("which configuration holds", () => {
  const of = (files: Record<string, object>, given?: string) =>
    new Configurations((path) => (path in files ? JSON.stringify(files[path]) : undefined), rules, given);

  it("is the nearest upward, alone", () => {
    const found = of({
      "/derate.config.json": { ambient: 60, region: "UK" },
      "/shop/derate.config.json": { ambient: 45 },
    });
    expect(found.resolve("/shop/a/b/c.ampnet")).toMatchObject({
      settings: { ambient: 45, region: undefined },
      path: "/shop/derate.config.json",
    });
    expect(found.resolve("/other/c.ampnet").settings).toMatchObject({ ambient: 60, region: "UK" });
    expect(of({}).resolve("/a.ampnet")).toMatchObject({ settings: {}, problems: [] });
  });

  it("extends others, and goes before them; severities and margins name by name", () => {
    const found = of({
      "/base/strict.json": {
        severity: { rating: "error", "rating/resistor-power": "warning" },
        margins: { resistor: 0.5 },
        region: "AU",
      },
      "/base/more.json": { extends: "strict.json", region: "NZ" },
      "/shop/derate.config.json": {
        extends: ["../base/more.json"],
        severity: { "rating/resistor-power": "off" },
      },
    });
    expect(found.resolve("/shop/a.ampnet")).toMatchObject({
      settings: {
        severity: { rating: "error", "rating/resistor-power": "off" },
        margins: { resistor: 0.5 },
        region: "NZ",
      },
      read: ["/base/strict.json", "/base/more.json", "/shop/derate.config.json"],
    });
  });

  it("has overrides by pattern from its own folder, a later one first", () => {
    const found = of({
      "/shop/derate.config.json": {
        ambient: 45,
        overrides: [
          { files: ["bench/**"], ambient: 25, severity: { rating: "advice" } },
          { files: ["*.hot.ampnet"], ambient: 70 },
        ],
      },
    });
    const ambient = (path: string) => found.resolve(path).settings.ambient;
    expect(ambient("/shop/a.ampnet")).toBe(45);
    expect(ambient("/shop/bench/deep/a.ampnet")).toBe(25);
    expect(ambient("/shop/bench/a.hot.ampnet")).toBe(70);
    expect(found.resolve("/shop/bench/a.hot.ampnet").settings.severity).toEqual({ rating: "advice" });
    expect(ambient("/shop/notbench/a.ampnet")).toBe(45);
  });

  it("counts a base's patterns from the base's folder", () => {
    const found = of({
      "/base/c.json": { overrides: [{ files: ["amps/**"], ambient: 70 }], ignore: ["old/"] },
      "/base/amps/derate.config.json": { extends: "../c.json" },
    });
    expect(found.resolve("/base/amps/a.ampnet")).toMatchObject({
      settings: { ambient: 70 },
      ignore: [{ folder: "/base", patterns: ["old/"] }],
    });
  });

  it("tells of a circle, of a missing base, and of mistakes in a base", () => {
    const found = of({
      "/a/derate.config.json": { extends: ["b.json", "gone.json"] },
      "/a/b.json": { extends: "derate.config.json", wrong: 1 },
    });
    expect(found.resolve("/a/x.ampnet").problems.map(({ file, message }) => `${file}: ${message}`)).toEqual([
      '/a/b.json: no setting is called "wrong"',
      "/a/derate.config.json: extends gone.json: no such file; name it from this file's folder",
    ]);
    const round = of({
      "/a/derate.config.json": { extends: "b.json" },
      "/a/b.json": { extends: "derate.config.json" },
    });
    expect(round.resolve("/a/x.ampnet").problems.map(({ message }) => message)).toEqual([
      "extends derate.config.json, which leads round in a circle",
    ]);
  });

  it("is the one given, when one is given", () => {
    const found = of(
      { "/x/mine.json": { ambient: 30 }, "/derate.config.json": { ambient: 60 } },
      "/x/mine.json",
    );
    expect(found.resolve("/a.ampnet").settings.ambient).toBe(30);
    expect(of({}, "/gone.json").resolve("/a.ampnet").problems[0].message).toMatch(/no such file/);
  });

  it("reads each configuration once", () => {
    const asked: string[] = [];
    const found = new Configurations((path) => {
      asked.push(path);
      return path === "/a/derate.config.json" ? "{}" : undefined;
    }, rules);
    for (const name of ["x", "y", "z"]) found.resolve(`/a/b/${name}.ampnet`);
    expect(asked.filter((path) => path === "/a/b/derate.config.json")).toHaveLength(1);
    expect(asked.length).toBeLessThanOrEqual(3);
  });
});

describe("joining paths", () => {
  it.each([
    ["/a/b", "c.json", "/a/b/c.json"],
    ["/a/b", "../c.json", "/a/c.json"],
    ["/a", "../../c.json", "/c.json"],
    ["/", "c.json", "/c.json"],
    ["/a", "/b/./c.json", "/b/c.json"],
    ["C:/a", "../b.json", "C:/b.json"],
  ])("%s and %s", (folder, path, joined) => expect(join(folder, path)).toBe(joined));
});
