/**
 * Building the circuit of a parsed text, warm. An amplifier is about 150 parts in 300 lines: under 1 ms is asked for.
 * `empty loop` is the yardstick of the machine at the moment: 1e6 additions.
 */
import { readFileSync } from "node:fs";
import { bench, describe } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";

const sample = readFileSync(new URL("../../samples/magpie-30.ampnet", import.meta.url), "utf8");

/** A sample's parts and nets, `copies` times, every copy under names of its own. */
function many(copies: number): string {
  const names = new Set(
    [...parse(sample).statements].flatMap((statement) =>
      statement.node === "part"
        ? [
            statement.reference,
            ...(statement.body?.items ?? []).flatMap((item) => [
              ...item.nets,
              ...("terminals" in item ? item.terminals.flatMap((one) => one.nets) : []),
            ]),
          ]
        : statement.node === "path"
          ? [...statement.nets, ...statement.parts.map((part) => part.reference)]
          : [],
    ),
  );
  const ranges = [...names]
    .filter((word) => word !== undefined && word.text !== "gnd" && word.text !== "chassis")
    .sort((one, other) => one!.range.start - other!.range.start);
  return Array.from({ length: copies }, (_, copy) => {
    let text = "";
    let at = 0;
    for (const word of ranges) {
      text += `${sample.slice(at, word!.range.start)}${word!.text}x${copy}`;
      at = word!.range.end;
    }
    return (text + sample.slice(at)).replace(/^(amp|mains) .*$/gm, "");
  }).join("\n");
}

const amplifier = many(3);
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
