import type { Circuit } from "../../circuit/model.ts";
import type { Analysis, Solution, StateName, Unsolved } from "../../physics/results.ts";
import { topOf } from "../frame/found.ts";
import { finding, LEVELS, listed, partsOn, relatedNet, relatedPart, when } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";

export const notSolved: Rule = {
  id: "circuit/not-solved",
  severity: "error",
  sentence: "No voltages were found that satisfy the circuit, or a part of it, in one of its states.",
  why: "Every limit of that part goes unchecked: what could not be computed has not been passed.",
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
    context.checked("circuit");
    for (const failed of troubles(analysis)) yield told(circuit, failed);
  },
};

/** One reason, and what it leaves unsolved. */
interface Failed {
  readonly reason: Unsolved["reasons"][number];
  /** Where the most of it is. */
  unsolved: Unsolved;
  /** The first that it concerns. */
  readonly solution: Solution;
  readonly states: Set<StateName>;
}

/** Every reason once, with all the states it concerns. */
function troubles(analysis: Analysis): Iterable<Failed> {
  const found = new Map<string, Failed>();
  for (const state of analysis.states) {
    for (const level of LEVELS) {
      const solution = analysis.solution(state, level);
      const unsolved = solution?.unsolved;
      if (!unsolved) continue;
      for (const reason of unsolved.reasons) {
        // Where nothing settles, where it does not differs from state to state.
        const key = unsolved.whole ? "whole" : reason.message;
        const known = found.get(key);
        if (known) {
          known.states.add(state);
          if (unsolved.nets.size > known.unsolved.nets.size) known.unsolved = unsolved;
        }
        if (!known) found.set(key, { reason, unsolved, solution, states: new Set([state]) });
      }
    }
  }
  return found.values();
}

function told(circuit: Circuit, { reason, unsolved, solution, states }: Failed): Finding {
  const { nets } = reason;
  const names = nets.map((net) => circuit.nets[net]?.name ?? "?");
  const where = names.length > 0 ? ` (${listed(names)})` : "";
  return finding(notSolved, {
    message:
      `No solution ${listed([...states].map((state) => when(state)))}: ${reason.message.replace(/\.$/, "")}${where}. ` +
      `${rests(circuit, unsolved)} Look at the parts on these nets.`,
    on: names.length > 0 ? names : ["circuit"],
    place: circuit.nets[nets[0] ?? -1]?.mentions[0] ?? topOf(circuit),
    related: [
      ...nets.slice(1, 6).map((net) => relatedNet(circuit, net, "also without a solution")),
      ...nets
        .flatMap((net) => partsOn(circuit, net))
        .filter((part) => part.kind === "source")
        .map((part) => relatedPart(part, "a source that holds its volts whatever else does")),
    ],
    state: solution.state,
    mains: solution.level,
  });
}

/** What goes unchecked with it, in a sentence or two. */
function rests(circuit: Circuit, { whole, nets, transformers }: Unsolved): string {
  if (whole) return "Nothing that rests on volts or amperes has been checked.";
  const names = [...nets].map((net) => circuit.nets[net]?.name ?? "?");
  const on =
    names.length > 0
      ? `What hangs together with ${names.length > 1 ? "these nets" : "this net"} is unchecked: ${listed(names)}.`
      : "What joins its ends is unchecked.";
  const load =
    transformers.length > 0
      ? ` The load on ${listed(transformers)} is unknown with it, and so is whatever ${transformers.length > 1 ? "they feed" : "it feeds"}.`
      : "";
  return `${on}${load} The rest has been computed and checked.`;
}
