/** Compressed columns of a square sparse matrix, built once from the places where anything may ever be added. */
import { integers } from "./slabs.ts";

export interface Pattern {
  readonly size: number;
  /** Start of each column in `rows`; length size + 1. */
  readonly columnStart: Int32Array;
  /** Row of each entry, ascending within its column. */
  readonly rows: Int32Array;
}

/**
 * @param rows,columns places, repeated ones allowed (they share an entry)
 * @returns the pattern, and for each place the index of its entry in the values
 */
export function buildPattern(
  size: number,
  rows: ArrayLike<number>,
  columns: ArrayLike<number>,
  count = rows.length,
): { pattern: Pattern; entry: Int32Array } {
  // Two stable counting sorts, by row and then by column, leave each column's rows ascending in linear time.
  const byRow = countingSort(size, rows, null, count);
  const byColumn = countingSort(size, columns, byRow, count);
  const columnStart = integers(size + 1);
  const entry = integers(count);
  const kept = integers(count);
  let used = 0;
  let lastRow = -1;
  let lastColumn = -1;
  for (let k = 0; k < count; k++) {
    const place = byColumn[k];
    const row = rows[place];
    const column = columns[place];
    if (row !== lastRow || column !== lastColumn) {
      kept[used++] = row;
      columnStart[column + 1] = used;
      lastRow = row;
      lastColumn = column;
    }
    entry[place] = used - 1;
  }
  for (let c = 1; c <= size; c++)
    if (columnStart[c] < columnStart[c - 1]) columnStart[c] = columnStart[c - 1];
  return { pattern: { size, columnStart, rows: kept.slice(0, used) }, entry };
}

function countingSort(
  size: number,
  keys: ArrayLike<number>,
  order: Int32Array | null,
  count: number,
): Int32Array {
  const start = integers(size + 1);
  for (let k = 0; k < count; k++) start[keys[k] + 1]++;
  for (let c = 0; c < size; c++) start[c + 1] += start[c];
  const sorted = integers(count);
  for (let k = 0; k < count; k++) {
    const place = order ? order[k] : k;
    sorted[start[keys[place]]++] = place;
  }
  return sorted;
}
