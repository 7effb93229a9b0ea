/** Preferred values: what can be bought. */
const E12 = [10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82];
const E24 = [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91];

/** The values of a series around a number, ascending. IEC 60063. */
function around(value: number, series: readonly number[]): number[] {
  const decade = Math.floor(Math.log10(value)) - 1;
  const values: number[] = [];
  for (let exponent = decade - 1; exponent <= decade + 1; exponent++) {
    for (const step of series) values.push(Number((step * 10 ** exponent).toPrecision(3)));
  }
  return values;
}

const SLACK = 1 + 1e-9;

/** The largest value of the series (E12 where left out) that is not above. */
export function preferredBelow(value: number, series: "E12" | "E24" = "E12"): number {
  if (!(value > 0) || !Number.isFinite(value)) return value;
  return around(value, series === "E12" ? E12 : E24).findLast((step) => step <= value * SLACK) ?? value;
}

/** The smallest value of the series (E12 where left out) that is not below. */
export function preferredAbove(value: number, series: "E12" | "E24" = "E12"): number {
  if (!(value > 0) || !Number.isFinite(value)) return value;
  return around(value, series === "E12" ? E12 : E24).find((step) => step >= value / SLACK) ?? value;
}

/** The first of an ascending list that is not below; undefined past its end. */
export function nextUp(value: number, list: readonly number[]): number | undefined {
  return list.find((step) => step >= value / SLACK);
}
