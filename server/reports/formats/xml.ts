/** XML 1.0 has no way to write most control characters, not even escaped: each becomes a question mark. */
export function cleanXml<T>(value: T): T {
  if (typeof value === "string")
    return value.replace(/[^\t\n\r -\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu, "?") as T;
  if (Array.isArray(value)) return value.map(cleanXml) as T;
  if (value !== null && typeof value === "object")
    return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, cleanXml(inner)])) as T;
  return value;
}
