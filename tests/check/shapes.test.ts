/** What is made for each check keeps to the few forms that V8 lets go of soon: DEVELOPERS.md, "Measured". */
import { readdirSync, readFileSync } from "node:fs";
import { join, relative, resolve } from "node:path";
import ts from "typescript";
import { expect, test } from "vitest";

const root = resolve(import.meta.dirname, "../..");
const folders = ["grammar", "server/circuit", "server/physics", "server/rules", "server/editor"];

/** Tables that stand for the whole of a process, by what is published or written in options, not by circuit. */
const lasting = new Set([
  "server/circuit/fact-schema.ts",
  "server/circuit/kinds/valve.ts",
  "server/physics/laws/user.ts",
  "server/rules/shared/worst-near.ts",
]);

function found(path: string, text: string): string[] {
  const source = ts.createSourceFile(path, text, ts.ScriptTarget.Latest, true);
  const told: string[] = [];
  const tell = (node: ts.Node, what: string): void => {
    told.push(`${path}:${source.getLineAndCharacterOfPosition(node.getStart()).line + 1}: ${what}`);
  };
  const look = (node: ts.Node, within: boolean): void => {
    if (ts.isAccessor(node) && ts.isObjectLiteralExpression(node.parent))
      tell(node, "a getter in an object literal");
    const generator =
      (ts.isFunctionDeclaration(node) || ts.isFunctionExpression(node) || ts.isMethodDeclaration(node)) &&
      node.asteriskToken !== undefined;
    if (within && generator) tell(node, "a generator made within a function");
    if (within && ts.isClassLike(node)) tell(node, "a class made within a function");
    if (ts.isNewExpression(node) && node.expression.getText() === "WeakMap" && !lasting.has(path))
      tell(node, "a WeakMap, where KeptWith would do");
    if (
      ts.isCallExpression(node) &&
      /^Object\.(create|definePropert)/.test(node.expression.getText()) &&
      within
    )
      tell(node, "an object with a shape of its own");
    const inner = within || (ts.isFunctionLike(node) && node.kind !== ts.SyntaxKind.FunctionType);
    ts.forEachChild(node, (child) => look(child, inner));
  };
  look(source, false);
  return told;
}

test("getters, generators and what is kept stand where small collections let go of an analysis", () => {
  const files = folders.flatMap((folder) =>
    readdirSync(join(root, folder), { recursive: true, encoding: "utf8" })
      .filter((name) => name.endsWith(".ts"))
      .map((name) => join(root, folder, name)),
  );
  expect(files.length).toBeGreaterThan(300);
  const told = files.flatMap((file) => found(relative(root, file), readFileSync(file, "utf8")));
  // The one place that keeps things with others.
  expect(told).toEqual([
    expect.stringMatching(/^server\/circuit\/kept-with\.ts:\d+: an object with a shape/),
  ]);
});

test("each of them is seen where it stands", () => {
  const text = `
const kept = new WeakMap();
export function f() {
  function* g() {}
  class C {}
  return Object.create({ get x() { return 1; }, *h() {} });
}`;
  expect(found("x.ts", text).map((line) => line.split(": ")[1])).toEqual([
    "a WeakMap, where KeptWith would do",
    "a generator made within a function",
    "a class made within a function",
    "an object with a shape of its own",
    "a getter in an object literal",
    "a generator made within a function",
  ]);
});
