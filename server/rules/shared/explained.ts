/** Whether a limit passed elsewhere explains that another is passed: by how far each of them is. */
import type { Finding } from "../rule.ts";

/**
 * Brought back within its own limit, the leader would bring a current down by its own excess at most, and with the current whatever
 * grows with it. What is further over than that has a fault of its own, and is told by itself.
 * @param power of the current that the follower grows with: 1 for amperes, 2 for a resistor's watts
 */
export const explainedBy =
  (power: 1 | 2) =>
  (leader: Finding, follower: Finding): boolean => {
    const excess = ({ value, limit }: Finding) =>
      value !== undefined && limit !== undefined && limit > 0 ? value / limit : Number.NaN;
    return leader.severity === "error" && !follower.apart && excess(follower) <= excess(leader) ** power;
  };
