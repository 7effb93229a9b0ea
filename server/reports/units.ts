/** Numbers as a technician reads them off a meter. */

/** Volts without a prefix, as a meter on its volts range shows them: `312.0`, `11.20`, `-0.853`. */
export function meterVolts(value: number | null | undefined): string {
  if (value === undefined || value === null || Number.isNaN(value)) return "–";
  if (!Number.isFinite(value)) return "∞";
  const size = Math.abs(value);
  if (size < 5e-4) return "0";
  const text = value.toFixed(size >= 999.5 ? 0 : size >= 99.5 ? 1 : size >= 9.5 ? 2 : 3);
  return text;
}

/** `1 error`, `2 errors`. */
export function count(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}
