/** What is said of waivers themselves; the runner looks at them once all other findings are there. */
import type { Rule } from "../rule.ts";

const told = (): readonly never[] => [];
const text = (name: string, volts: string, waiver: string): string => `amp "${name}"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 100k 1W 500V -- p1
p1 -- resistor R2 ${volts} -- gnd
${waiver}
`;

export const waiveUnused: Rule = {
  id: "circuit/waive-unused",
  severity: "warning",
  sentence: "A waiver has nothing left to hold.",
  why: "A waiver that stays behind when its finding is gone hides the next one, on which nobody has decided.",
  source: "common practice",
  quiet:
    "Quiet where the options silence the rule, and on a waiver whose date is past (circuit/waive-expired).",
  bad: text(
    "Waiver left behind",
    "100k 1W 500V",
    'waive circuit/single-use-net on p1 because "was open once"',
  ),
  good: text(
    "Waiver in use",
    "100k 1W 500V",
    'p1 -- resistor R3 1M 0.5W 350V -- probe\nwaive circuit/single-use-net on probe because "test lead"',
  ),
  check: told,
};

export const waiveExpired: Rule = {
  id: "circuit/waive-expired",
  severity: "warning",
  sentence: "The date of a waiver is past.",
  why: "What was put off until then is due; the finding stands again.",
  source: "common practice",
  quiet: "Quiet through the last day, and where no date is given or the host gives no date of today.",
  bad: text(
    "Waiver past its date",
    "100k 1W 500V",
    'waive circuit/single-use-net on p1 because "was open once" until 2001-01-01',
  ),
  good: text(
    "Waiver in time",
    "100k 1W 500V",
    'p1 -- resistor R3 1M 0.5W 350V -- probe\nwaive circuit/single-use-net on probe because "test lead" until 2999-12-31',
  ),
  check: told,
};

export const ruleFailed: Rule = {
  id: "circuit/rule-failed",
  severity: "warning",
  sentence: "A rule stopped on a fault of this program's.",
  why: "What it looks for has not been checked, and silence is never a pass.",
  source: "this program",
  quiet:
    "Quiet as long as every rule comes to its end. It has no example: a text that gives it is a fault to be reported.",
  bad: "",
  good: text("Every rule ends", "100k 1W 500V", ""),
  check: told,
};
