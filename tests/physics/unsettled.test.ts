/** A supply that finds no steady state gives no figures, and says so: none of them is held against a limit. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { findSupplies } from "../../server/physics/supply/index.ts";
import type { FindSupplies } from "../../server/physics/supply/island.ts";
import { runRules } from "../../server/rules/run.ts";

const text = `amp "Unsettled"
transformer T1 80VA {
  primary 230V 14R { a b }
  ht 290-0-290V 120mA 110R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT1
htB -- diode D2 1N4007 -- HT1
HT1 -- capacitor C1 32u 350V electrolytic -- gnd
HT1 -- resistor R1 5k 5W -- gnd
`;

/** The supplies as they are found, told to have no steady state. No netlist is known that brings one there. */
const unsettled: FindSupplies = (circuit, topology, conditions) =>
  findSupplies(circuit, topology, conditions).map((island) => ({
    ...island,
    finish(x) {
      const finished = island.finish(x);
      const trouble = { message: "the supply of T1 finds no steady state", nodes: island.innerNodes };
      Object.defineProperty(finished.result, "trouble", { value: trouble });
      return finished;
    },
  }));

describe("a supply without a steady state", () => {
  it("is not solved, gives no volts, and is told as an error in place of what it would breach", () => {
    const { circuit, findings } = check("test.ampnet", text);
    expect(findings.map(({ rule }) => rule)).toContain("rating/capacitor-voltage");

    const analysis = analyse(circuit, { findSupplies: unsettled });
    for (const state of analysis.states) {
      const solution = analysis.solution(state, "nominal");
      expect(solution?.solved).toBe(false);
      expect(solution?.volts[circuit.netByName.get("HT1") ?? -1]).toBeNaN();
      expect(solution?.trouble?.message).toContain("T1");
    }
    const told = runRules(circuit, analysis, {}).findings;
    const [found] = told.filter(({ rule }) => rule === "circuit/not-solved");
    expect(found).toMatchObject({ severity: "error" });
    expect(found.message).toContain("the supply of T1 finds no steady state");
    expect(told.map(({ rule }) => rule)).not.toContain("rating/capacitor-voltage");
  });
});
