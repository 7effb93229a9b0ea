/** The voltage chart that lies beside the chassis: every net in every state, low, nominal and high mains. HTML body, no scripts. */
import type { CheckResult } from "../check.ts";
import type { MainsLevel } from "../circuit/model.ts";
import type { StateName } from "../physics/results.ts";
import { quantity } from "../rules/frame/quantity.ts";
import { html } from "./html.ts";

const LEVELS: readonly MainsLevel[] = ["low", "nominal", "high"];
const STATE_WORDS: Readonly<Record<StateName, string>> = {
  cold: "cold start",
  standby: "standby",
  idle: "idle",
  drive: "full drive",
  pulled: "output valves out",
};

export const CHART_CAUTION =
  "These voltages kill, and capacitors hold them after the plug is out. Unplug, discharge, measure; measure live with one hand only. Work for a qualified person; local codes and licensed practice come first.";

export function voltageChartHtml(result: CheckResult): string {
  const { circuit, analysis } = result;
  const states = analysis.states.filter((state) =>
    LEVELS.some((level) => analysis.solution(state, level)?.solved),
  );
  const head = states.map((state) => `<th colspan="3">${html(STATE_WORDS[state])}</th>`).join("");
  const levels = states.map(() => LEVELS.map((level) => `<th>${level}</th>`).join("")).join("");
  const rows = circuit.nets.map((net) => {
    const cells = states.flatMap((state) =>
      LEVELS.map((level) => {
        const solution = analysis.solution(state, level);
        const volts = solution?.volts[net.index];
        const alternating = solution?.rms[net.index] ?? 0;
        if (volts === undefined || Number.isNaN(volts)) return "<td>–</td>";
        const text =
          alternating > 0.5 && alternating > Math.abs(volts)
            ? `${quantity(alternating, "V")} ac`
            : quantity(volts, "V");
        return `<td>${html(text)}</td>`;
      }),
    );
    return `<tr><th scope="row">${html(net.name)}</th>${cells.join("")}</tr>`;
  });
  const mains = LEVELS.map((level) => quantity(circuit.mains.volts[level], "V")).join(" / ");
  return [
    `<h1>${html(circuit.name ?? "Voltage chart")}</h1>`,
    `<p><strong>${html(CHART_CAUTION)}</strong></p>`,
    `<p>Computed from the netlist, average volts from circuit common, nominal part values. Mains low / nominal / high: ${html(mains)}. A chart is no test.</p>`,
    `<table><thead><tr><th rowspan="2">net</th>${head}</tr><tr>${levels}</tr></thead><tbody>${rows.join("")}</tbody></table>`,
  ].join("\n");
}
