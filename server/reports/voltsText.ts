/** The voltages for a person with a meter: a table for each state, a row for each net, a column for each mains level. */
import type { MainsLevel } from "../circuit/model.ts";
import type { StateName } from "../physics/results.ts";
import { listed, quantity } from "../rules/frame/quantity.ts";
import type { Style } from "./style.ts";
import { table } from "./table.ts";
import { meterVolts } from "./units.ts";
import {
  type DischargeVolts,
  levels,
  type PartReadings,
  type SolutionVolts,
  type VoltsReport,
} from "./volts.ts";
import { wrap } from "./wrap.ts";

export const stateWords: Readonly<Record<StateName, string>> = {
  cold: "just switched on, heaters still cold",
  standby: "standby switch open, heaters hot",
  idle: "everything warm, no signal",
  drive: "everything warm, driven up to the onset of clipping",
  pulled: "output valves out of their sockets",
};

export interface VoltsTextOptions {
  readonly style: Style;
  readonly width: number;
  /** The parts' currents and dissipations too. */
  readonly parts?: boolean;
}

type ByLevel = readonly (readonly [MainsLevel, SolutionVolts])[];

export function voltsText(report: VoltsReport, options: VoltsTextOptions): string {
  const { style, width } = options;
  const lines = [style.strong(report.amp ?? report.path)];
  lines.push(...wrap(mainsSentence(report), width));
  lines.push(
    ...wrap(
      "Average volts from circuit common (gnd), rms where marked ac, ripple peak to peak, the band that part tolerances give.",
      width,
    ),
    "",
  );
  for (const [state, byLevel] of Object.entries(report.states) as [
    StateName,
    Partial<Record<MainsLevel, SolutionVolts>>,
  ][]) {
    const solutions = levels.flatMap((level) => (byLevel[level] ? [[level, byLevel[level]] as const] : []));
    if (solutions.length === 0) continue;
    lines.push(
      style.strong(`${state}: ${stateWords[state]}${alsoCold(report, state)}`),
      ...stateLines(solutions, options),
      "",
    );
  }
  const stores = Object.entries(report.discharge) as [MainsLevel, DischargeVolts][];
  if (options.parts && stores.length > 0) lines.push(...dischargeLines(report, options), "");
  lines.push(...wrap(cautionOfVolts, width).map(style.faint));
  return `${lines.join("\n")}\n`;
}

/** The rest of a string of heaters goes cold with the valves that are out, or behind the open switch. */
function alsoCold({ coldWhenPulled, coldInStandby }: VoltsReport, state: StateName): string {
  if (state === "standby" && coldInStandby.length > 0)
    return `, save ${listed(coldInStandby)}: ${coldInStandby.length > 1 ? "they go" : "it goes"} cold`;
  return state === "pulled" && coldWhenPulled.length > 0
    ? `, ${listed(coldWhenPulled)} cold with them (one string of heaters)`
    : "";
}

function mainsSentence({ mains, supply }: VoltsReport): string {
  const { low, nominal, high } = mains;
  const said = `${meterVolts(nominal)} V ${supply.hertz} Hz${supply.region ? ` ${supply.region}` : ""}`;
  const range = `from ${meterVolts(low)} to ${meterVolts(high)} V (${supply.toleranceSource})`;
  return supply.given ? `Mains ${said}, ${range}.` : `The file has no mains line: ${said} taken, ${range}.`;
}

/** Said under every voltage chart: somebody is about to measure. */
const cautionOfVolts =
  "Calculated, not measured. These voltages kill: measure with one hand, with probes rated for them, the meter clipped on " +
  "before the power comes on; work inside only when unplugged, discharged and measured dead.";

function stateLines(solutions: ByLevel, options: VoltsTextOptions): string[] {
  const lines: string[] = [];
  const troubles = solutions.filter(([, solution]) => !solution.solved);
  for (const [words, levels] of byTrouble(troubles))
    lines.push(...wrap(`No solution at ${listed(levels)} mains${words}`, options.width, "  "));
  const middle = (solutions.find(([level]) => level === "nominal") ?? solutions[0])[1];
  const heading = [
    "net",
    ...solutions.map(([level, { mainsVolts }]) =>
      mainsVolts === null || mainsVolts === 0 ? level : `${level} (${meterVolts(mainsVolts)} V)`,
    ),
    "tolerance",
    "ripple",
  ];
  const rows = Object.keys(middle.nets).map((net) => {
    const { low, high, ripple } = middle.nets[net];
    const alternates = alternating(middle.nets[net]) !== undefined;
    const band =
      alternates || meterVolts(low) === meterVolts(high) ? "" : `${meterVolts(low)} … ${meterVolts(high)}`;
    return [
      net,
      ...solutions.map(([, solution]) => netVolts(solution.nets[net])),
      band,
      alternates || ripple === null || ripple < 5e-4 ? "" : quantity(ripple, "V"),
    ];
  });
  lines.push(...indented(table([heading, ...rows])));
  if (options.parts) lines.push("", ...indented(table(partRows(middle), 1)));
  for (const estimate of middle.estimates)
    lines.push(...wrap(estimate, options.width, "  ").map(options.style.faint));
  return lines;
}

/** Why there is no solution, or not of all, with the mains levels at which that is so. */
function byTrouble(troubles: ByLevel): ReadonlyMap<string, string[]> {
  const found = new Map<string, string[]>();
  for (const [level, { trouble, nets }] of troubles) {
    const all = Object.values(nets);
    const without = all.filter(({ volts }) => volts === null).length;
    const of = without > 0 && without < all.length ? " for the nets without a figure" : "";
    const words = `${of}: ${trouble ?? "the circuit did not settle"}`;
    const levels = found.get(words);
    if (levels) levels.push(level);
    else found.set(words, [level]);
  }
  return found;
}

/** rms volts of a net that alternates more than it stands at anything: a winding's end, the mains. Half a volt is none. */
function alternating(net: SolutionVolts["nets"][string] | undefined): number | undefined {
  const rms = net?.rms ?? 0;
  return rms > 0.5 && rms > Math.abs(net?.volts ?? 0) ? rms : undefined;
}

/** What a meter on the right range shows. A live mains net has an average of nothing, and must never read as nothing. */
function netVolts(net: SolutionVolts["nets"][string] | undefined): string {
  const rms = alternating(net);
  return rms === undefined ? meterVolts(net?.volts) : `${meterVolts(rms)} ac`;
}

const columns: readonly (readonly [keyof PartReadings, string, Parameters<typeof quantity>[1]])[] = [
  ["volts", "volts", "V"],
  ["amps", "average", "A"],
  ["rms", "rms", "A"],
  ["peak", "peak", "A"],
  ["rmsVolts", "rms volts", "V"],
  ["inverse", "inverse", "V"],
  ["watts", "watts", "W"],
  ["va", "VA", "VA"],
];

function partRows({ parts }: SolutionVolts): string[][] {
  const used = columns.filter(([name]) =>
    Object.values(parts).some((readings) => readings[name] !== undefined),
  );
  return [
    ["part", ...used.map(([, title]) => title)],
    ...Object.entries(parts).map(([key, readings]) => [
      key,
      ...used.map(([name, , unit]) => {
        const value = readings[name];
        if (value === undefined) return "";
        return value === null ? "–" : Math.abs(value) < 1e-9 ? "0" : quantity(value, unit);
      }),
    ]),
  ];
}

function dischargeLines(report: VoltsReport, { style }: VoltsTextOptions): string[] {
  const level = report.discharge.high ? "high" : (Object.keys(report.discharge)[0] as MainsLevel);
  const warm = report.discharge[level] ?? {};
  const out = report.dischargeValvesOut[level] ?? {};
  const seconds = (value: number | null | undefined) =>
    value === undefined ? "" : value === null ? "never" : quantity(value, "s");
  return [
    style.strong(`after switching off, at ${level} mains: time down to 60 V`),
    ...indented(
      table([
        ["capacitor", "volts", "stored", "valves warm", "valves out"],
        // Across the mains the average is nought, and says nothing of the crest that the plug leaves: mains/capacitor-bleed does.
        ...Object.entries(warm)
          .filter(([, { volts }]) => volts === null || Math.abs(volts) >= 5e-4)
          .map(([reference, { volts, joules, secondsTo60V }]) => [
            reference,
            meterVolts(volts),
            joules === null ? "–" : quantity(joules, "J"),
            seconds(secondsTo60V),
            seconds(out[reference]?.secondsTo60V),
          ]),
      ]),
    ),
  ];
}

const indented = (lines: readonly string[]) => lines.map((line) => `  ${line}`);
