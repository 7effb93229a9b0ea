/** The limits that could not be checked, told once per part. The runner gathers them from every rule. */
import { example } from "../mains/example.ts";
import type { Rule } from "../rule.ts";

export const unrated: Rule = {
  id: "rating/unrated",
  severity: "unchecked",
  sentence:
    "Nothing in the file or the data says what this part is rated for, so a limit of it went unchecked.",
  why: "A limit that was not checked is not a limit that was kept. Silence is never a pass.",
  source: "common practice",
  quiet:
    "Quiet where the file gives the rating, or a published one stands in for it, and where nothing stresses the part.",
  bad: `amp "Bare rating"
source B1 300V { plus: HT, minus: gnd }
HT -- capacitor C1 100n film -- gnd
HT -- resistor R1 1M 1W 500V -- gnd
`,
  good: example({
    name: "Rating given",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
h1 -- capacitor C1 100n 63V film -- gnd
measured earth-continuity 0.08R
measured insulation 250M at 500V
measured earth-leakage 0.2mA`,
  }),
  // Composed by the runner out of what the other rules could not check.
  check: () => [],
};
