/** Bench readings and waivers. */
import type { MeasuredStatement, WaiveStatement } from "../../../grammar/tree.ts";
import { didYouMean } from "../../../grammar/near.ts";
import type { Scope } from "./expand.ts";
import { nameIn } from "./expand.ts";
import type { CircuitProblem, Measurement, Part, Place, Waiver } from "../model.ts";
import type { NetNames } from "./names.ts";

const RECORDS = ["earth-continuity", "insulation", "earth-leakage"] as const;

export function readMeasurement(
  statement: MeasuredStatement,
  file: string,
  scope: Scope,
  names: NetNames,
  parts: ReadonlyMap<string, Part>,
  problems: CircuitProblem[],
): Measurement | undefined {
  const place: Place = { file, range: statement.range };
  const targetPlace: Place = { file, range: statement.target.range };
  const say = (message: string, at: Place = targetPlace) => void problems.push({ rule: "circuit/measured", message, place: at, on: [statement.target.text] });
  const quantity = statement.value?.quantity;
  if (quantity === undefined) return say(`What was read at ${statement.target.text}? Write it with its unit, such as 312V.`);
  const valuePlace: Place = { file, range: statement.value?.range ?? statement.range };
  const at = statement.at;
  const atVolts = at?.quantity?.unit === "volt" ? at.quantity.value : undefined;
  const mainsRead = at?.label?.text === "mains" || (at !== undefined && /^mains\b/.test(at.text));
  const common = {
    place,
    value: quantity.value,
    valuePlace,
    ...(atVolts !== undefined && mainsRead ? { atMainsVolts: atVolts } : {}),
    ...(atVolts !== undefined && !mainsRead ? { atTestVolts: atVolts } : {}),
  };
  const target = statement.target.text;
  const record = RECORDS.find((word) => word === target);
  if (record) {
    const unit = record === "earth-leakage" ? "ampere" : "ohm";
    if (quantity.unit !== unit && quantity.unit !== "none") return say(`${target} is read in ${unit === "ohm" ? "ohms" : "amperes"}.`, valuePlace);
    return { ...common, target: { kind: record }, unit };
  }
  const unit = quantity.unit === "none" ? "volt" : quantity.unit;
  if (unit !== "volt" && unit !== "ampere") return say(`${statement.value?.text}: a reading at ${target} is in volts or amperes.`, valuePlace);
  const name = nameIn(scope, target);
  if (statement.across) {
    const part = parts.get(name);
    if (part === undefined) return say(`There is no part called ${target}.${didYouMean(target, parts.keys())}`);
    if (unit !== "volt") return say("A reading across a part is in volts.", valuePlace);
    return { ...common, target: { kind: "across", reference: name }, unit };
  }
  const terminal = names.terminalOf(name);
  if (terminal) {
    const net = names.find(name);
    if (net === undefined) return say(`${target} sits on no net.`);
    names.mention(name, targetPlace);
    return { ...common, target: { kind: "electrode", reference: terminal.reference, electrode: terminal.terminal, net }, unit };
  }
  const net = names.find(name);
  if (net !== undefined && unit === "volt") {
    // A reading is no connection: it does not make a net of a slip.
    return { ...common, target: { kind: "net", net, name }, unit };
  }
  if (parts.has(name)) {
    if (unit === "ampere") return { ...common, target: { kind: "through", reference: name }, unit };
    return { ...common, target: { kind: "across", reference: name }, unit };
  }
  if (net !== undefined) return say(`${target} is a net: a current is read through a part.`);
  return say(`There is no net or part called ${target}.${didYouMean(target, [...names.byName.keys(), ...parts.keys()])}`);
}

export function readWaiver(statement: WaiveStatement, file: string, scope: Scope, problems: CircuitProblem[]): Waiver {
  const until = statement.until?.text;
  const place: Place = { file, range: statement.range };
  const dated = until !== undefined && /^\d{4}-\d{2}-\d{2}$/.test(until) && !Number.isNaN(Date.parse(until));
  if (until !== undefined && !dated)
    problems.push({ rule: "circuit/syntax", message: `${until} is no date: write it as 2027-03-01.`, place: { file, range: statement.until?.range ?? statement.range }, on: [] });
  return {
    place,
    rule: statement.rule.text,
    ...(statement.on ? { on: nameIn(scope, statement.on.text) } : {}),
    ...(statement.because ? { reason: statement.because.text } : {}),
    ...(dated ? { until } : {}),
  };
}
