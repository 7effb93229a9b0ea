import type { Solution } from "../../physics/results.ts";
import { topOf } from "../frame/found.ts";
import { finding, LEVELS, listed, partsOn, relatedNet, relatedPart, when } from "../frame/index.ts";
import type { Rule } from "../rule.ts";

export const notSolved: Rule = {
  id: "circuit/not-solved",
  severity: "error",
  sentence: "No voltages were found that satisfy the circuit in one of its states.",
  why: "Every limit of that state goes unchecked: what could not be computed has not been passed.",
  source: "the solver: residual currents under 1 nA, steps under 1 µV",
  quiet: "Told once with all the states it concerns; quiet where circuit/short already names the cause.",
  bad: `amp "Sources at odds"
source B1 300V { plus: HT1, minus: gnd }
source B2 250V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- gnd
`,
  good: `amp "Sources that agree"
source B1 300V { plus: HT1, minus: gnd }
source B2 250V { plus: HT2, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- HT2
`,
  *check(context) {
    const { analysis, circuit } = context;
    const failed: Solution[] = [];
    for (const state of analysis.states) {
      for (const level of LEVELS) {
        const solution = analysis.solution(state, level);
        if (solution && !solution.solved) failed.push(solution);
      }
    }
    context.checked("circuit");
    if (failed.length === 0) return;
    const [first] = failed;
    const nets = first.trouble?.nets ?? [];
    const names = nets.map((net) => circuit.nets[net]?.name ?? "?");
    const states = [...new Set(failed.map((solution) => when(solution.state)))];
    const why = first.trouble?.message ?? "no voltages satisfy every part";
    yield finding(notSolved, {
      message:
        `No solution ${listed(states)}: ${why.replace(/\.$/, "")}${names.length > 0 ? ` (${listed(names)})` : ""}. ` +
        "Nothing that depends on it has been checked; look at the parts on these nets.",
      on: names.length > 0 ? names : ["circuit"],
      place: circuit.nets[nets[0] ?? -1]?.mentions[0] ?? topOf(circuit),
      related: [
        ...nets.slice(1, 6).map((net) => relatedNet(circuit, net, "also without a solution")),
        ...nets
          .flatMap((net) => partsOn(circuit, net))
          .filter((part) => part.kind === "source")
          .map((part) => relatedPart(part, "a source that holds its volts whatever else does")),
      ],
      state: first.state,
      mains: first.level,
    });
  },
};
