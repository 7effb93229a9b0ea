/** XML 1.0 has no way to write most control characters, not even escaped: each becomes a question mark. */
export function cleanXml<T>(value: T): T {
  if (typeof value === "string")
    return value.replace(/[^\t\n\r -\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu, "?") as T;
  if (Array.isArray(value)) return value.map(cleanXml) as T;
  if (value !== null && typeof value === "object")
    return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, cleanXml(inner)])) as T;
  return value;
}

/** What stands within so many outer elements of a formatted text, each of which has a line to open and one to close it. */
export function linesWithin(text: string, depth: number): string {
  let from = 0;
  let to = text.length;
  for (let level = 0; level < depth; level++) {
    from = text.indexOf("\n", from) + 1;
    to = text.lastIndexOf("\n", to - 2) + 1;
  }
  return text.slice(from, to);
}
