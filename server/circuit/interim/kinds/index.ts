/** Every kind of part. */
import type { KindDefinition } from "../kind.ts";
import { capacitor } from "./capacitor.ts";
import { bond, cord, fuse, inlet, switchKind, wire } from "./mains.ts";
import { outputTransformer } from "./output-transformer.ts";
import { pot } from "./pot.ts";
import { resistor } from "./resistor.ts";
import { bridge, choke, diode, jack, lamp, source, speaker, terminalStrip, thermistor, zener } from "./simple.ts";
import { transformer } from "./transformer.ts";
import { valve } from "./valve.ts";

export const kindDefinitions: ReadonlyMap<string, KindDefinition> = new Map(
  [
    resistor, pot, thermistor, capacitor, choke, diode, zener, bridge, valve, transformer, outputTransformer, cord, inlet,
    fuse, switchKind, bond, wire, jack, lamp, speaker, source, terminalStrip,
  ].map((definition) => [definition.kind, definition]),
);
