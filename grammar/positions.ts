/** Offsets to lines and back. Offsets, lines and characters count UTF-16 code units from zero, as the editor protocol does. */

export interface Position {
  readonly line: number;
  readonly character: number;
}

/** Offset of every line's first character. `\n`, `\r\n` and a lone `\r` end a line. */
export function lineStartsOf(text: string): readonly number[] {
  const starts = [0];
  const hasReturns = text.includes("\r");
  for (let feed = text.indexOf("\n"); !hasReturns && feed >= 0; feed = text.indexOf("\n", feed + 1))
    starts.push(feed + 1);
  for (let index = 0; hasReturns && index < text.length; index++) {
    const code = text.charCodeAt(index);
    if (code === 10) starts.push(index + 1);
    else if (code === 13) {
      if (text.charCodeAt(index + 1) === 10) index++;
      starts.push(index + 1);
    }
  }
  return starts;
}

/** The line that holds an offset, by binary search; an offset past the end is on the last line. */
export function lineAt(lineStarts: readonly number[], offset: number): number {
  let low = 0;
  let high = lineStarts.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (lineStarts[middle] <= offset) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** Line and character of an offset. A negative offset is the text's beginning. */
export function positionAt(lineStarts: readonly number[], offset: number): Position {
  const at = Math.max(0, offset);
  const line = lineAt(lineStarts, at);
  return { line, character: at - lineStarts[line] };
}

/**
 * Offset of a line and character. A line past the end gives the text's end, a character past the line's end gives the
 * line's end (before its line break).
 */
export function offsetAt(lineStarts: readonly number[], position: Position, text: string): number {
  if (position.line < 0) return 0;
  if (position.line >= lineStarts.length) return text.length;
  const start = lineStarts[position.line];
  return Math.min(start + Math.max(0, position.character), lineEndOf(lineStarts, position.line, text));
}

/** End of a line's text, its line break excluded. */
export function lineEndOf(lineStarts: readonly number[], line: number, text: string): number {
  let end = line + 1 < lineStarts.length ? lineStarts[line + 1] : text.length;
  while (end > lineStarts[line] && (text[end - 1] === "\n" || text[end - 1] === "\r")) end--;
  return end;
}
