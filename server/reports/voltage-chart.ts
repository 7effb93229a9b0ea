/** The voltage chart that lies beside the chassis: every net in every state, low, nominal and high mains. HTML body, no scripts. */
import type { CheckResult } from "../check.ts";
import type { Solution } from "../physics/results.ts";
import { metered, quantity } from "../rules/frame/quantity.ts";
import { LEVELS, STATE_NAMES } from "../rules/frame/state.ts";
import { html } from "./html.ts";

export const CHART_CAUTION =
  "These voltages kill, and capacitors hold them after the plug is out. Unplug, discharge, measure; measure live with one hand only. Work for a qualified person; local codes and licensed practice come first.";

export function voltageChartHtml(result: CheckResult): string {
  const { circuit, analysis } = result;
  const states = analysis.states.filter((state) =>
    LEVELS.some((level) => analysis.solution(state, level)?.solved),
  );
  const head = states.map((state) => `<th scope="col">${html(STATE_NAMES[state])}</th>`).join("");
  const rows = circuit.nets.map((net) => {
    const cells = states.map((state) => {
      const [low, nominal, high] = LEVELS.map((level) => volts(analysis.solution(state, level), net.index));
      if (nominal === undefined) return "<td>–</td>";
      const spread = low !== nominal || high !== nominal ? `<small>${bare(low)} … ${bare(high)}</small>` : "";
      return `<td>${html(nominal)}${spread}</td>`;
    });
    return `<tr><th scope="row">${html(net.name)}</th>${cells.join("")}</tr>`;
  });
  const mains = LEVELS.map((level) => `${quantity(circuit.mains.volts[level], "V")} (${level})`).join(", ");
  return [
    `<h1>${html(circuit.name ?? "Voltage chart")}</h1>`,
    `<p><strong>${html(CHART_CAUTION)}</strong></p>`,
    `<p>Average volts from circuit common, computed from the netlist with nominal part values: at nominal mains, and small below it from low to high mains. Mains are ${html(mains)}. A chart is no test.</p>`,
    `<table><thead><tr><th scope="col">net</th>${head}</tr></thead><tbody>${rows.join("")}</tbody></table>`,
  ].join("\n");
}

function volts(solution: Solution | undefined, net: number): string | undefined {
  const direct = solution?.volts[net];
  if (solution === undefined || direct === undefined || Number.isNaN(direct)) return undefined;
  const alternating = solution.rms[net];
  return alternating > 0.5 && alternating > Math.abs(direct)
    ? `${metered(alternating, "V")} ac`
    : metered(direct, "V");
}

/** Without the unit, which the figure above it has; a figure in another unit keeps its own. */
function bare(text: string | undefined): string {
  return text === undefined ? "–" : html(text.replace(/ V( ac)?$/, ""));
}
