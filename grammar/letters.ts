/**
 * Shapes of names, of any script's letters. Making a pattern of all of them takes a start half a millisecond each, and nearly
 * every name is plain: each shape stands a second time with ASCII's letters alone, and the other is made when first needed.
 */

/** @returns whether a text has the shape; `any` is its pattern, and `plain` the same for a text that is all ASCII */
export function shape(plain: RegExp, any: string): (text: string) => boolean {
  let pattern: RegExp | undefined;
  return (text) => {
    if (isPlain(text)) return plain.test(text);
    pattern ??= new RegExp(any, "u");
    return pattern.test(text);
  };
}

function isPlain(text: string): boolean {
  for (let at = 0; at < text.length; at++) if (text.charCodeAt(at) > 127) return false;
  return true;
}
