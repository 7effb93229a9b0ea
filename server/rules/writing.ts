/**
 * Which findings are about how a file is written, and not about the amplifier: only their fixes are made unasked, all at once or
 * at a save. A net that is used once may be a slip of its name, but another name is another wire: that is for a person to say.
 */
export function isWriting(rule: string): boolean {
  return rule.startsWith("circuit/") && rule !== "circuit/single-use-net";
}
