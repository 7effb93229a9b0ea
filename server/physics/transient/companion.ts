/** A capacitor over a stage of a time step, as the direct-current equations see it: a conductance C/h from what it counts from. */
import type { DcDevice } from "../device.ts";
import type { Capacitance } from "./network.ts";

/**
 * @param base  volts that it counts from, at place `at`
 * @param stage length of the stage; where it never changes the device is linear as long as `base` stands too
 */
export function companion(
  { nodes, farads }: Capacitance,
  base: Float64Array,
  at: number,
  stage: { readonly seconds: number },
  linear = false,
): DcDevice {
  return {
    reference: "",
    nodes,
    branches: 0,
    linear,
    evaluate(x, f, jac) {
      const siemens = farads / stage.seconds;
      const amps = siemens * (x[0] - x[1] - base[at]);
      f[0] = amps;
      f[1] = -amps;
      jac[0] = siemens;
      jac[1] = -siemens;
      jac[2] = -siemens;
      jac[3] = siemens;
    },
  };
}
