/**
 * How an island's average volts move with the values inside it: the parts of the bands that come from windings, reservoirs,
 * rectifiers and resistors in the supply.
 */
import type { DeviceParameter } from "../device.ts";
import type { Body } from "./index.ts";
import type { Observed } from "./readings.ts";

export function islandParameters(
  _body: Body,
  _peak: number,
  _terminals: number,
  _solvedAt: (x: Float64Array) => Observed,
): readonly DeviceParameter[] | undefined {
  return undefined;
}
