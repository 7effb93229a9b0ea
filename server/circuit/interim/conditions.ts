/** Mains and assumptions: what the file says, and what stands where it says nothing. */
import { regionMains, unknownRegion } from "./facts/regions.ts";
import type { AssumeStatement, MainsStatement } from "../../../grammar/tree.ts";
import { didYouMean } from "../../../grammar/near.ts";
import { assumed } from "./fact-reader.ts";
import type { Assumptions, CircuitProblem, Given, MainsSupply, Region } from "../model.ts";

type In<T> = { readonly statement: T; readonly file: string };

const REGIONS: readonly Region[] = ["AU", "NZ", "UK", "EU", "CH", "US", "CA", "JP"];

export function readConditions(
  mains: readonly In<MainsStatement>[],
  assumes: readonly In<AssumeStatement>[],
  problems: CircuitProblem[],
): { readonly mains: MainsSupply; readonly assumptions: Assumptions } {
  let ambient: Given = assumed(40, "default", "common practice: 40 °C inside a ventilated chassis");
  let valveSpread: Given = assumed(0.15, "default", "common practice");
  let outlet: Assumptions["outlet"];
  let tolerance: { up: number; down: number } | undefined;
  const derate = new Map<string, Given>();
  const other = new Map<string, Given>();
  let region: Region | undefined;

  const subjects = ["ambient", "mains", "derate", "outlet", "valve-spread", "region"];
  for (const { statement, file } of assumes) {
    const place = { file, range: statement.range };
    const say = (message: string, rule = "circuit/unit") => problems.push({ rule, message, place, on: [] });
    const numbers = statement.facts.filter((fact) => fact.quantity !== undefined);
    const words = statement.facts.filter((fact) => fact.quantity === undefined);
    const first = numbers[0]?.quantity;
    const given = (value: number): Given => ({ value, origin: "file", place: { file, range: numbers[0].range } });
    switch (statement.subject.text) {
      case "ambient":
        if (first && (first.unit === "celsius" || first.unit === "none") && first.value > -60 && first.value < 200) ambient = given(first.value);
        else say("The ambient is written in degrees Celsius: assume ambient 50C.");
        break;
      case "mains": {
        const percents = numbers.map(({ quantity }) => quantity).filter((found) => found?.unit === "percent");
        const word = words[0]?.text as Region | undefined;
        if (word && REGIONS.includes(word)) region = word;
        if (percents.length === 0 && !word) say("The mains' tolerance is written in percent: assume mains +10% -6%.");
        else if (percents.length === 1 && percents[0] && !/^[+-]/.test(numbers[0].text)) tolerance = { up: Math.abs(percents[0].value), down: Math.abs(percents[0].value) };
        else if (percents.length > 0)
          tolerance = {
            up: Math.max(0, ...percents.map((found) => found?.value ?? 0)),
            down: Math.max(0, ...percents.map((found) => -(found?.value ?? 0))),
          };
        break;
      }
      case "derate":
        if (first?.unit === "percent" && words[0] && first.value > 0 && first.value <= 100) derate.set(words[0].text, given(first.value / 100));
        else say("A derating names a family and a share of the rating: assume derate resistor 50%.");
        break;
      case "valve-spread":
        if (first?.unit === "percent" && first.value >= 0 && first.value < 100) valveSpread = given(first.value / 100);
        else say("The spread of valves is written in percent: assume valve-spread 15%.");
        break;
      case "outlet": {
        const word = words[0]?.text;
        if (word === "polarised" || word === "unpolarised") outlet = word;
        else say("The outlet is polarised or unpolarised: assume outlet unpolarised.");
        break;
      }
      default:
        if (first && ["reservoir", "meter", "margin"].includes(statement.subject.text)) other.set(statement.subject.text, given(first.value));
        else if (first && first.unit === "percent") other.set(statement.subject.text, given(first.value / 100));
        else say(`Nothing called ${statement.subject.text} can be assumed.${didYouMean(statement.subject.text, subjects)}`, "circuit/unknown-fact");
    }
  }

  const written = mains[0];
  if (mains.length > 1)
    problems.push({
      rule: "circuit/duplicate-reference",
      message: "The mains are written twice; the first counts.",
      place: { file: mains[1].file, range: mains[1].statement.range },
      on: [],
    });
  let nominal: number | undefined;
  let hertz: number | undefined;
  for (const fact of written?.statement.facts ?? []) {
    if (fact.quantity?.unit === "volt" && fact.quantity.value > 0) nominal = fact.quantity.value;
    else if (fact.quantity?.unit === "hertz" && fact.quantity.value > 0) hertz = fact.quantity.value;
    else if (fact.word && REGIONS.includes(fact.text as Region)) region = fact.text as Region;
    else
      problems.push({
        rule: fact.quantity ? "circuit/unit" : "circuit/unknown-fact",
        message: fact.quantity
          ? `${fact.text}: the mains have volts, hertz and a region, such as mains 230 V 50 Hz AU.`
          : `No region is called ${fact.text}.${didYouMean(fact.text, REGIONS)} Known are ${REGIONS.join(", ")}.`,
        place: { file: written.file, range: fact.range },
        on: [],
      });
  }
  const standard = region ? regionMains[region] : unknownRegion;
  const volts = nominal ?? standard.volts;
  const up = tolerance ? tolerance.up : standard.upPercent;
  const down = tolerance ? tolerance.down : standard.downPercent;
  return {
    mains: {
      given: written !== undefined,
      ...(written ? { place: { file: written.file, range: written.statement.range } } : {}),
      hertz: hertz ?? standard.hertz,
      ...(region ? { region } : {}),
      volts: { low: volts * (1 - down / 100), nominal: volts, high: volts * (1 + up / 100) },
      toleranceSource: tolerance ? "the file's own assumption" : standard.source,
    },
    assumptions: { ambientCelsius: ambient, derate, valveSpread, ...(outlet ? { outlet } : {}), other },
  };
}
