/** The end of a solution: the supplies looked at where it stands, and what they tell of their inside. */
import type { InSteps } from "../../circuit/in-steps.ts";
import { copyOf, doubles } from "../linear/slabs.ts";
import type { IslandResult, SolvedNetwork, SupplyIsland } from "../supply/island.ts";
import { polish } from "./newton.ts";
import type { DcSystem } from "./system.ts";

/** What a supply tells of its inside stands for the solution as long as that has moved by no more than so many thousandths. */
const FINISHED_THOUSANDTHS = 0.2;

/**
 * Look at the supplies at the solution. That look is as good as a last evaluation there, so the solution is corrected by it; and
 * once more should it have moved. Then they tell of their inside, for which they may have looked closer still: by that too.
 * @param firstIsland place of the first island among the system's devices
 * @param x           the solution, corrected in place
 */
export function* finishIslands(
  system: DcSystem,
  firstIsland: number,
  islands: readonly SupplyIsland[],
  x: Float64Array,
): InSteps<SolvedNetwork["islands"]> {
  if (islands.length === 0) return [];
  const own = islands.map(({ device }) => doubles(device.nodes.length + device.branches));
  const place: Place = { system, firstIsland, islands, x, own };
  for (let pass = 0; pass < 3; pass++) if (yield* corrected(place, (island, at) => island.look(at))) break;
  let results: IslandResult[] = [];
  for (let pass = 0; pass < 2; pass++) {
    results = [];
    const tell = (island: SupplyIsland, at: Float64Array): boolean => {
      const { result, anew } = island.finish(at);
      results.push(result);
      return anew;
    };
    if (yield* corrected(place, tell)) break;
  }
  return islands.map((island, k) => {
    system.gather(firstIsland + k, x, own[k]);
    const amps = copyOf(system.straight(firstIsland + k, own[k]), 0, island.device.nodes.length);
    return { island, x: own[k], result: results[k], amps };
  });
}

/** Where the islands stand; `own` has room for the unknowns of each. */
interface Place {
  readonly system: DcSystem;
  readonly firstIsland: number;
  readonly islands: readonly SupplyIsland[];
  readonly x: Float64Array;
  readonly own: readonly Float64Array[];
}

/**
 * @param look tells whether it looked anew: where none did, the solution is what it was
 * @returns whether the solution stays where it was
 */
function* corrected(
  { system, firstIsland, islands, x, own }: Place,
  look: (island: SupplyIsland, x: Float64Array) => boolean,
): InSteps<boolean> {
  let anew = false;
  for (let k = 0; k < islands.length; k++) {
    system.gather(firstIsland + k, x, own[k]);
    if (look(islands[k], own[k])) anew = true;
    system.settle(firstIsland + k, own[k]);
    yield;
  }
  if (!anew) return true;
  const moved = yield* polish(system, x);
  return moved === undefined || moved < FINISHED_THOUSANDTHS;
}
