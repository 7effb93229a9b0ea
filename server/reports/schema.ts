/**
 * The JSON shapes that programs outside rely on, written down apart from the code that makes them: `schemas/` is made from
 * this, and tests hold the output to it. Keys may be added, none may change or go. The program itself doesn't load it.
 */
import { z } from "zod";

const position = z.strictObject({ line: z.int().nonnegative(), character: z.int().nonnegative() });
const range = z.strictObject({ start: position, end: position });
const number = z.number().nullable();

export const checkSchema = z.looseObject({
  version: z.literal(1),
  files: z.array(
    z.looseObject({
      path: z.string(),
      findings: z.array(
        z.looseObject({
          rule: z.string().regex(/^[a-z]+\/[a-z-]+$/),
          severity: z.enum(["error", "warning", "advice", "unchecked"]),
          message: z.string().min(1),
          on: z.array(z.string()),
          range,
          related: z.array(z.looseObject({ on: z.string(), message: z.string(), range })),
          state: z.enum(["cold", "standby", "idle", "drive", "pulled"]).nullable(),
          mains: z.enum(["low", "nominal", "high"]).nullable(),
          value: number,
          limit: number,
          unit: z.string().nullable(),
          source: z.string().nullable(),
          waived: z.strictObject({ reason: z.string(), until: z.string().nullable() }).nullable(),
        }),
      ),
      checked: z.int().nonnegative(),
      unchecked: z.int().nonnegative(),
      unread: z.literal(true).optional(),
    }),
  ),
});

const level = z.enum(["low", "nominal", "high"]);
const discharge = z.partialRecord(
  level,
  z.record(z.string(), z.looseObject({ joules: number, secondsTo60V: number, secondsTo50V: number })),
);

export const voltsSchema = z.looseObject({
  version: z.literal(1),
  amp: z.string().nullable(),
  mains: z.strictObject({ low: z.number(), nominal: z.number(), high: z.number() }),
  states: z.partialRecord(
    z.enum(["cold", "standby", "idle", "drive", "pulled"]),
    z.partialRecord(
      level,
      z.looseObject({
        nets: z.record(
          z.string(),
          z.looseObject({ volts: number, low: number, high: number, ripple: number }),
        ),
        parts: z.record(z.string(), z.record(z.string(), number)),
      }),
    ),
  ),
  discharge,
  dischargeValvesOut: discharge,
});
