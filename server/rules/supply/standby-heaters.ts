/** A standby switch that takes the heaters' volts away as well: what it is for, a warm start, is lost. */
import type { Switch } from "../../circuit/model.ts";
import { standbyHeaters } from "../../facts/practice.ts";
import { finding, listed, partsOf, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";

const MOST_NAMED = 4;

/** @param rule in whose name it is told */
export function heatersInStandby(context: RuleContext, rule: Rule): Finding | undefined {
  const { circuit, analysis } = context;
  const switches = partsOf(circuit, "switch").filter((part) => part.duty === "standby");
  const [idle, standby] = [analysis.solution("idle", "nominal"), analysis.solution("standby", "nominal")];
  const [first] = switches;
  if (!first || !idle?.solved || !standby?.solved || isOnlySwitch(context, switches)) return undefined;
  const heaterVolts = (solution: typeof idle, reference: string) => {
    const reading = solution.readings.get(`${reference}.heater`);
    return reading?.rmsVolts ?? Math.abs(reading?.volts ?? Number.NaN);
  };
  const cold = partsOf(circuit, "valve").filter((valve) => {
    const [now, then] = [heaterVolts(idle, valve.reference), heaterVolts(standby, valve.reference)];
    return now > standbyHeaters.leastVolts && then < standbyHeaters.coldShare * now;
  });
  for (const part of switches) context.checked(part.reference);
  if (cold.length === 0) return undefined;
  const left = heaterVolts(standby, cold[0].reference);
  const names = listed(switches.map((part) => part.reference));
  return finding(rule, {
    severity: "advice",
    message:
      `${names} ${switches.length > 1 ? "take" : "takes"} the heaters' volts away in standby: ${listed(
        cold.map((valve) => valve.reference),
        MOST_NAMED,
      )} ${cold.length > 1 ? "go" : "goes"} cold (${quantity(heaterVolts(idle, cold[0].reference), "V")} at idle, ${left < 0.01 ? "none" : quantity(left, "V")} in standby), and ` +
      `every return from it is a start from cold. A standby switch breaks the high tension alone; one that breaks the mains is a mains switch: call it one.`,
    on: [...switches.map((part) => part.reference), ...cold.map((valve) => valve.reference)],
    place: first.referencePlace,
    state: "standby",
    mains: "nominal",
    related: cold.slice(0, MOST_NAMED).map((valve) => relatedPart(valve, `${valve.reference} goes cold`)),
  });
}

/** On the mains, and without a mains switch, it is what the amplifier is switched off by, whatever it is called. */
function isOnlySwitch({ circuit, analysis }: RuleContext, switches: readonly Switch[]): boolean {
  if (partsOf(circuit, "switch").some((part) => !switches.includes(part) && part.duty === "mains"))
    return false;
  const standby = analysis.solution("standby", "nominal");
  return partsOf(circuit, "transformer").every(({ reference, primary }) => {
    const volts = primary && standby?.readings.get(`${reference}.primary`)?.rmsVolts;
    return !(volts !== undefined && volts > standbyHeaters.leastVolts);
  });
}
