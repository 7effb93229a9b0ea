/** Findings that no rule's own check makes: what building the circuit found wrong, and a rule that failed. */
import type { Circuit, CircuitProblem, Place } from "../../circuit/model.ts";
import type { Finding, Rule } from "../rule.ts";

/** A problem met while reading the file, with the severity that its rule has. */
export function fromProblem(problem: CircuitProblem, rules: ReadonlyMap<string, Rule>): Finding {
  const rule = rules.get(problem.rule);
  return {
    rule: problem.rule,
    severity: rule?.severity ?? "error",
    message: problem.message,
    on: problem.on,
    place: problem.place,
    related: problem.related ?? [],
    source: rule?.source,
    fix: problem.fix && {
      title: problem.fix.title,
      edits: [{ place: problem.fix.place, text: problem.fix.text }],
    },
  };
}

/** A rule that stopped: never silence, since what it would have said is not known. */
export function failed(circuit: Circuit, rule: Rule, error: unknown): Finding {
  const detail = error instanceof Error ? error.message : String(error);
  return {
    rule: "circuit/rule-failed",
    severity: "warning",
    message: `The rule ${rule.id} stopped on a fault of this program's (${detail}): nothing that it looks for has been checked here.`,
    on: [rule.id],
    place: topOf(circuit),
    related: [],
  };
}

/** Where to tell what belongs to the file as a whole: its name, its mains line, or its first line. */
export function topOf(circuit: Circuit): Place {
  return (
    circuit.ampPlace ?? circuit.mains.place ?? { file: circuit.files[0] ?? "", range: { start: 0, end: 0 } }
  );
}
