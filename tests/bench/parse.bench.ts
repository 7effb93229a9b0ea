/** How long one reading takes: an amplifier of 300 lines, and one of 5,000 parts beside one of 500. */
import { bench, describe } from "vitest";
import { tokenize } from "../../grammar/lexer.ts";
import { parse } from "../../grammar/parse.ts";

/** A text of our own making with every common statement in it. */
function generated(parts: number): string {
  const lines = ['amp "Bench"', "mains 230 V 50 Hz AU"];
  for (let index = 0; lines.length < parts; index++) {
    lines.push(
      `HT${index} -- resistor R${index} 100k 1W metal-film -- p${index}   # plate load`,
      `p${index} -- capacitor C${index} 22n 400V film -- x${index} -- resistor Q${index} 470k 0.5W -- gnd`,
      `valve V${index} ECC83 {`,
      `  a { plate: p${index}, grid: g${index}, cathode: k${index} }`,
      "  heater: h1 h2",
      "}",
      `pot P${index} 1M audio 0.25W { top: x${index}, wiper: g${index}, bottom: gnd }`,
    );
  }
  return lines.join("\n");
}

const file = generated(300);
describe("one file of 300 lines", () => {
  bench("tokens", () => {
    tokenize(file);
  });
  bench("tree", () => {
    parse(file);
  });
  bench("tree, every tenth line wrong", () => {
    parse(wrong);
  });
});
const wrong = file
  .split("\n")
  .map((line, index) => (index % 10 === 0 ? `${line} ) "` : line))
  .join("\n");

const small = generated(700);
const large = generated(7000);
describe("linear in the length", () => {
  bench("500 parts", () => {
    parse(small);
  });
  bench("5,000 parts", () => {
    parse(large);
  });
});
