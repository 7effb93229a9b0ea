/**
 * Building the circuit of a parsed text, warm. An amplifier is about 150 parts in 300 lines: under 1 ms is asked for.
 * `empty loop` is the yardstick of the machine at the moment: 1e6 additions.
 */
import { readFileSync } from "node:fs";
import { bench, describe } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";

const sample = readFileSync(new URL("../../samples/magpie-30.ampnet", import.meta.url), "utf8");

/** Parts of a sample under references and nets of their own, `copies` times. */
function many(copies: number): string {
  const lines = sample.split("\n").filter((line) => !/^(amp|mains|#)/.test(line));
  const texts = Array.from({ length: copies }, (_, copy) =>
    lines
      .join("\n")
      .replace(/\b(?!gnd\b|chassis\b)([A-Za-z]+\d*[A-Z]?)\b(?=\s*(?:--|[,:}]|$))/gm, `$1_${copy}`),
  );
  return texts.join("\n");
}

const amplifier = `${sample}\n${sample.replace(/\b([A-Z]{1,2})(\d+)\b/g, "$1$29").replace(/^(amp|mains).*$/gm, "")}`;
const large = many(75);

/** Keeps what is measured from being left out. */
const sink = { value: 0 };
for (const [name, text] of [
  ["magpie-30", sample],
  ["an amplifier of 300 lines", amplifier],
  ["75 amplifiers", large],
] as const) {
  const tree = parse(text);
  const { circuit } = buildCircuit("x", text, tree);
  describe(`${name}: ${text.split("\n").length} lines, ${circuit.parts.length} parts`, () => {
    bench("build", () => {
      sink.value += buildCircuit("x", text, tree).circuit.parts.length;
    });
    bench("empty loop", () => {
      for (let i = 0; i < 1e6; i++) sink.value += i & 1;
    });
  });
}
