import { createHash } from "node:crypto";

/** SHA-256 in hexadecimal digits. */
export function digestOf(text: string): string {
  return createHash("sha256").update(text).digest("hex");
}
