/** A table in plain characters: first column to the left, numbers to the right, two blanks between. */
export function table(rows: readonly (readonly string[])[], leftColumns = 1): string[] {
  const widths: number[] = [];
  for (const row of rows)
    for (const [index, cell] of row.entries()) widths[index] = Math.max(widths[index] ?? 0, cell.length);
  return rows.map((row) =>
    row
      .map((cell, index) => (index < leftColumns ? cell.padEnd(widths[index]) : cell.padStart(widths[index])))
      .join("  ")
      .trimEnd(),
  );
}
