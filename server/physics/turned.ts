/**
 * A solved circuit with its pots turned: the same equations but for their tracks, solved from the volts that are known. What the
 * wiper's end of travel leaves is a contact's resistance, so that no net becomes another.
 */
import { atOnce } from "../circuit/in-steps.ts";
import type { Circuit } from "../circuit/model.ts";
import { neonLamp } from "../facts/lamps.ts";
import { PotDevice } from "./dc/devices.ts";
import { finishIslands } from "./dc/finish.ts";
import { solveDc } from "./dc/newton.ts";
import type { PlantSolution } from "./dc/plant.ts";
import { DcSystem } from "./dc/system.ts";
import { copyOf } from "./linear/slabs.ts";
import type { FindSupplies } from "./supply/island.ts";
import { potShare } from "./topology.ts";

/** Between the wiper and the end that it has come to: of no account beside any track. */
const END_OHMS = 1e-4;

/**
 * @param circuit  the circuit with its pots turned
 * @param settings share from bottom to wiper, by reference
 * @returns undefined where the equations would be others (a pot wired otherwise or at an end of its travel before, a lamp that strikes),
 *          or where no solution was found from here
 */
export function turn(
  solution: PlantSolution,
  circuit: Circuit,
  settings: ReadonlyMap<string, number>,
  findSupplies: FindSupplies,
): PlantSolution | undefined {
  const { plant, conditions } = solution;
  if (!solution.result.converged) return undefined;
  const devices = plant.system.devices.slice();
  for (const [reference, setting] of settings) {
    const part = circuit.partByReference.get(reference);
    if (part?.kind !== "pot") continue;
    const at = devices.findIndex((device) => device instanceof PotDevice && device.reference === reference);
    if (at < 0) return undefined;
    const share = potShare(setting);
    const track = part.ohms.value;
    devices[at] = new PotDevice(
      reference,
      devices[at].nodes,
      Math.max(track * (1 - share), END_OHMS),
      Math.max(track * share, END_OHMS),
      part.tolerance.value,
    );
  }
  // Of their own: those of the solution go on telling what they were found with.
  const islands = findSupplies(plant.circuit, plant.topology, conditions);
  islands.forEach(({ device }, k) => {
    devices[plant.firstIsland + k] = device;
  });
  const system = new DcSystem(
    devices,
    plant.topology.nodeCount,
    plant.inner,
    new Set(islands.map(({ device }) => device)),
  );
  const x = copyOf(solution.x);
  const result = solveDc(system, x);
  if (!result.converged) return undefined;
  const { neons } = plant.elements;
  const volts = (node: number): number => (node < 0 ? 0 : x[system.unknownOfNode[node]]);
  if (neons.some(({ nodes: [a, b] }) => Math.abs(volts(a) - volts(b)) > neonLamp.strikeVolts))
    return undefined;

  const islandResults = atOnce(finishIslands(system, plant.firstIsland, islands, x));
  return {
    plant: { ...plant, circuit, system },
    conditions,
    islands,
    x,
    jacobian: copyOf(system.values),
    result,
    islandResults,
    unsolved: solution.unsolved,
  };
}
