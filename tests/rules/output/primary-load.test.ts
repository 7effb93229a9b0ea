/** output/load-mismatch on a primary far from its valves' published loads. */
import { describe, expect, it } from "vitest";
import { told } from "../limits.ts";

const stage = (ohms: string, { valves = 1, type = "EL84", pushPull = false } = {}) => {
  const count = pushPull ? 2 * valves : valves;
  const each = Array.from({ length: count }, (_, i) => {
    const plate = pushPull && i % 2 === 1 ? "pB" : "pA";
    return `valve V${i + 1} ${type} { plate: ${plate}, screen: HT, grid: g${i}, cathode: k${i} }
g${i} -- resistor R${10 + i} 470k 0.5W -- gnd
k${i} -- resistor R${30 + i} 180R 5W -- gnd
k${i} -- capacitor C${30 + i} 100u 25V electrolytic -- gnd`;
  });
  return `source B1 250V { plus: HT, minus: gnd }
${each.join("\n")}
output-transformer T1 20W {
  plates  ${ohms} 200R { ${pushPull ? "pA HT pB" : "pA HT"} }
  speaker 8R 0.4R { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`;
};
const of = (text: string) =>
  told(text, "output/load-mismatch", "T1").map(({ severity, message }) => `${severity} ${message}`);

// Philips EL84 sheet, from memory: one valve works into 3.5 kΩ to 7 kΩ, a pair into 8 kΩ and 10 kΩ plate to plate.
describe("output/load-mismatch: a primary of another decade", () => {
  it.each([
    [
      "a decade low, a pair",
      stage("660R", { pushPull: true }),
      /primary is of 660 Ω plate to plate, [\d.]+ times less than EL84 calls for/,
    ],
    [
      "a decade high, a pair",
      stage("66k", { pushPull: true }),
      /66 kΩ plate to plate, [\d.]+ times more than EL84/,
    ],
    ["a decade low, one valve", stage("520R"), /primary is of 520 Ω, [\d.]+ times less than EL84/],
    ["a decade high, one valve", stage("52k"), /52 kΩ, [\d.]+ times more/],
    [
      "that of one valve for four in parallel on each side",
      stage("10k", { valves: 4, pushPull: true }),
      /more than 4 in parallel of EL84 call for/,
    ],
  ])("is told: %s", (_, text, words) => {
    const [found, ...more] = of(text);
    expect(more).toEqual([]);
    expect(found).toMatch(/^advice /);
    expect(found).toMatch(words);
  });

  it.each([
    ["the sheet's own", stage("8k", { pushPull: true })],
    ["a maker's choice beside it", stage("6k6", { pushPull: true })],
    ["half of it, as 4 Ω for 8 Ω makes it", stage("4k", { pushPull: true })],
    ["one valve's", stage("5k")],
    ["just within three times the most", stage("20.9k")],
    ["just within a third of the least", stage("1170R")],
    ["half the load for two in parallel on each side", stage("4k", { valves: 2, pushPull: true })],
    ["a valve whose sheet gives no such operation", stage("100R", { type: "ECC83" })],
  ])("is quiet: %s", (_, text) => {
    expect(of(text)).toEqual([]);
  });

  it.each([
    ["past three times the most", stage("21.1k")],
    ["under a third of the least", stage("1160R")],
  ])("is told just %s", (_, text) => {
    expect(of(text)).toHaveLength(1);
  });
});
