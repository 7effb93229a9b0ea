import { cryptography } from "./on-demand.ts";

/** SHA-256 in hexadecimal digits. */
export function digestOf(text: string): string {
  return cryptography().createHash("sha256").update(text).digest("hex");
}
