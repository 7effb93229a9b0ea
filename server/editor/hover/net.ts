/** A net: its volts in each state and at each mains level, and what hangs on it. */
import type { CheckResult } from "../../check.ts";
import type { NetIndex } from "../../circuit/model.ts";
import { quantity } from "../../rules/frame/quantity.ts";
import { HAZARD_VOLTS, HIGH_VOLTAGE_CAUTION, UNKNOWN_VOLTAGE_CAUTION } from "../cautions.ts";
import { bandText, LEVELS, netCell, STATE_NAMES, table } from "../numbers.ts";
import { hangsOn } from "../resolve.ts";

export function hoverNet(result: CheckResult, net: NetIndex): string {
  const { analysis, circuit } = result;
  const name = circuit.nets[net].name;
  const rows: string[][] = [];
  let highest = 0;
  for (const state of analysis.states) {
    const solutions = LEVELS.map((level) => analysis.solution(state, level));
    if (solutions.every((solution) => solution === undefined)) continue;
    const nominal = solutions[1];
    const ripple = nominal && nominal.ripple[net] > 1e-3 ? quantity(nominal.ripple[net], "V") : "–";
    for (const solution of solutions) {
      const peak = Math.max(Math.abs(solution?.peak[net] ?? 0), Math.abs(solution?.volts[net] ?? 0));
      if (peak > highest) highest = peak;
    }
    const plain = netCell(nominal, net);
    const band = nominal && /\d V$/.test(plain) ? bandText(nominal.netBand(net), "V") : plain;
    rows.push([STATE_NAMES[state], netCell(solutions[0], net), band, netCell(solutions[2], net), ripple]);
  }
  const trouble = analysis.states
    .map((state) => analysis.solution(state, "nominal"))
    .find((solution) => solution?.floating.includes(net));
  const unsolved = analysis.states
    .map((state) => analysis.solution(state, "nominal"))
    .find((solution) => solution?.unsolved?.nets.has(net));
  const parts = hangsOn(circuit, net)
    .filter(({ part }) => !part.unnamed)
    .map(({ part, terminal }) => `${part.reference}.${terminal}`);
  return [
    `**${name}** · net${name === "gnd" ? " (circuit common)" : name === "chassis" ? " (the metalwork)" : ""}`,
    table(["state", "low mains", "nominal mains (by tolerance)", "high mains", "ripple p-p"], rows),
    unsolved
      ? `No solution for this net's volts: ${unsolved.trouble?.message ?? "the circuit does not settle"}.`
      : "",
    trouble ? "Nothing fixes this net's volts: it has no direct path." : "",
    parts.length > 0 ? `On it: ${parts.join(", ")}` : "",
    unsolved ? UNKNOWN_VOLTAGE_CAUTION : highest >= HAZARD_VOLTS ? HIGH_VOLTAGE_CAUTION : "",
  ]
    .filter((part) => part !== "")
    .join("\n\n");
}
