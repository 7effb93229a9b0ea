/**
 * Every figure held against a source outside the project: what was expected, what the program gives, and how far apart. Prints a
 * table and writes tests/published/ACCURACY.md. Status 1 where a check is out of its bound.
 */
import { writeFileSync } from "node:fs";
import type { PublishedCheck } from "../tests/published/check.ts";
import { integratedCircuits } from "../tests/published/checks/integrated.ts";
import { supplyChecks } from "../tests/published/checks/supply.ts";
import { valveChecks } from "../tests/published/checks/valves.ts";

interface Told {
  readonly check: PublishedCheck;
  readonly got: number;
  readonly error: number;
  readonly good: boolean;
}

const groups: readonly (readonly [string, readonly PublishedCheck[]])[] = [
  ["Valves and output stages", valveChecks()],
  ["Power supplies: published figures and closed forms", supplyChecks],
  [
    "Power supplies: independent integration of the same circuit",
    integratedCircuits.flatMap(({ checks }) => checks()),
  ],
];

function tell(check: PublishedCheck): Told {
  let got = Number.NaN;
  try {
    got = check.got();
  } catch {
    // Told as not a number.
  }
  const error = check.expected === 0 ? got : got / check.expected - 1;
  return { check, got, error, good: Math.abs(error) <= check.within };
}

const figure = (value: number): string =>
  Number.isFinite(value) ? Number(value.toPrecision(5)).toString() : "none";
const percent = (value: number): string => `${(value * 100).toFixed(Math.abs(value) < 0.001 ? 3 : 2)} %`;
const cell = (text: string): string => text.replaceAll("|", "/").replaceAll("\n", " ");

const out: string[] = [
  "# Accuracy",
  "",
  "Written by `npm run accuracy`: each figure with its source, what was expected, what the program gives, and the difference.",
  "`seen` was read on a page, `memory` is carried from the named publication, `computed` was worked out independently.",
];
let bad = 0;
const summary: string[] = [];
for (const [title, checks] of groups) {
  const told = checks.map(tell);
  const missed = told.filter(({ good }) => !good);
  bad += missed.length;
  const worst = new Map<string, number>();
  for (const { check, error } of told) {
    worst.set(check.quantity, Math.max(worst.get(check.quantity) ?? 0, Math.abs(error)));
  }
  summary.push(`${title}: ${told.length} figures, ${told.length - missed.length} within their bounds`);
  out.push(
    "",
    `## ${title}`,
    "",
    `${told.length} figures, ${told.length - missed.length} within their bounds.`,
    "",
  );
  out.push("| quantity | figures | largest difference |", "| --- | --- | --- |");
  for (const [quantity, error] of worst) {
    out.push(
      `| ${cell(quantity)} | ${told.filter((t) => t.check.quantity === quantity).length} | ${percent(error)} |`,
    );
  }
  out.push("", "| check | quantity | expected | got | difference | within | source | evidence | note |");
  out.push("| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
  console.log(`\n${title}`);
  console.log(
    [
      "check".padEnd(58),
      "expected".padStart(11),
      "got".padStart(11),
      "error".padStart(9),
      "within".padStart(7),
      "source",
    ].join("  "),
  );
  for (const { check, got, error, good } of told) {
    const unit = check.unit === "" ? "" : ` ${check.unit}`;
    out.push(
      `| ${[
        check.name,
        check.quantity,
        figure(check.expected) + unit,
        figure(got) + unit,
        (good ? "" : "**out** ") + percent(error),
        percent(check.within),
        check.source,
        check.evidence,
        check.note ?? "",
      ]
        .map(cell)
        .join(" | ")} |`,
    );
    console.log(
      [
        check.name.slice(0, 58).padEnd(58),
        figure(check.expected).padStart(11),
        figure(got).padStart(11),
        percent(error).padStart(9),
        percent(check.within).padStart(7),
        `${good ? "" : "OUT  "}${check.source.slice(0, 60)}`,
      ].join("  "),
    );
  }
}
writeFileSync(new URL("../tests/published/ACCURACY.md", import.meta.url), `${out.join("\n")}\n`);
console.log(`\n${summary.join("\n")}\nwritten: tests/published/ACCURACY.md`);
process.exitCode = bad > 0 ? 1 : 0;
