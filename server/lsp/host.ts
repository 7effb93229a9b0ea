import type { Unreadable } from "../config/path.ts";

/** What the server needs of the place that it runs in. Node and the browser worker each give one. */
export interface ServerHost {
  /**
   * The text of a file by URI; undefined where there is none or it cannot be read as text.
   * @param unreadable told where there is one and why it can't be read, as far as the place knows
   */
  readText(uri: string, unreadable?: (file: Unreadable) => void): Promise<string | undefined>;
  /** URIs of all `.ampnet` files below a folder. */
  listNetlists(folder: string): Promise<readonly string[]>;
  /** Milliseconds, for yielding and for the log; monotonic. */
  now(): number;
  /** ISO date of today, for waivers. */
  today(): string;
  /** Gives other work its turn. */
  pause(): Promise<void>;
  /** Where a rule's page stands, for links. */
  pageOf(rule: string): string | undefined;
}

/** ISO date in the place's own time zone: waivers end by it, here as on the command line. */
export function localDay(now: Date): string {
  const two = (n: number) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

export { largestText as LARGEST_TEXT } from "../check.ts";
