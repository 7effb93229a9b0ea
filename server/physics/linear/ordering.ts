/**
 * The order in which unknowns are eliminated: found once per pattern, before any number is known.
 *
 * Branch equations (ideal sources) have nothing on the diagonal, so rows are first paired with columns (a transversal of the
 * bipartite graph, by augmenting paths: Duff, ACM TOMS 7, 1981). On the paired matrix, made symmetric, follows a minimum-degree
 * order on the quotient graph with approximate degrees and element absorption (Amestoy, Davis, Duff, SIAM J. Matrix Anal. 17,
 * 1996). An amplifier is nearly a tree, where that gives nearly no fill.
 */
import { KeptByPattern } from "./kept-by-pattern.ts";
import type { Pattern } from "./pattern.ts";
import { integers } from "./slabs.ts";

export interface Ordering {
  /** Row of each column. */
  readonly rowOf: Int32Array;
  /** Columns in the order in which they are eliminated. */
  readonly order: Int32Array;
}

const orderings = new KeptByPattern<Ordering>();

/** Pairing and order of a pattern, looked for once while it is met again and again. Not to be changed. */
export function orderingOf(pattern: Pattern): Ordering {
  return orderings.of(pattern, () => {
    const rowOf = pairRows(pattern);
    return { rowOf, order: minimumDegree(pattern, rowOf) };
  });
}

/**
 * Pairs every column with a row that has an entry in it.
 * @returns row of each column; -1 for columns that find none (the matrix is then structurally singular)
 */
export function pairRows(pattern: Pattern): Int32Array {
  const { size, columnStart, rows } = pattern;
  const rowOf = integers(size).fill(-1);
  const columnOf = integers(size).fill(-1);
  // The diagonal first: conductances sit there, and it keeps the pairing symmetric.
  for (let c = 0; c < size; c++) {
    for (let p = columnStart[c]; p < columnStart[c + 1]; p++) {
      if (rows[p] === c) {
        rowOf[c] = c;
        columnOf[c] = c;
        break;
      }
    }
  }
  const seen = integers(size).fill(-1);
  const next = integers(size);
  const stack = integers(size + 1);
  const via = integers(size + 1);
  for (let c = 0; c < size; c++) {
    if (rowOf[c] !== -1) continue;
    let depth = 0;
    stack[0] = c;
    next[c] = columnStart[c];
    let found = -1;
    while (depth >= 0) {
      const at = stack[depth];
      let deeper = false;
      while (next[at] < columnStart[at + 1]) {
        const row = rows[next[at]++];
        if (seen[row] === c) continue;
        seen[row] = c;
        via[depth] = row;
        const other = columnOf[row];
        if (other === -1) {
          found = depth;
          break;
        }
        stack[++depth] = other;
        next[other] = columnStart[other];
        deeper = true;
        break;
      }
      if (found >= 0) break;
      if (!deeper) depth--;
    }
    for (let d = found; d >= 0; d--) {
      rowOf[stack[d]] = via[d];
      columnOf[via[d]] = stack[d];
    }
  }
  return rowOf;
}

/**
 * Minimum-degree order of the columns.
 * @param rowOf the pairing; unpaired columns count as having their own row
 */
export function minimumDegree(pattern: Pattern, rowOf: Int32Array): Int32Array {
  const graph = symmetricGraph(pattern, rowOf);
  return eliminate(pattern.size, graph.start, graph.neighbours);
}

/** The graph of B + Bᵀ without loops, where B has the paired entries on its diagonal. Vertices are columns. */
function symmetricGraph(pattern: Pattern, rowOf: Int32Array) {
  const { size, columnStart, rows } = pattern;
  const vertexOfRow = integers(size).fill(-1);
  for (let c = 0; c < size; c++) if (rowOf[c] !== -1) vertexOfRow[rowOf[c]] = c;
  const start = integers(size + 1);
  for (let c = 0; c < size; c++) {
    for (let p = columnStart[c]; p < columnStart[c + 1]; p++) {
      const r = vertexOfRow[rows[p]];
      if (r === -1 || r === c) continue;
      start[r + 1]++;
      start[c + 1]++;
    }
  }
  for (let v = 0; v < size; v++) start[v + 1] += start[v];
  const fill = start.slice();
  const all = integers(start[size]);
  for (let c = 0; c < size; c++) {
    for (let p = columnStart[c]; p < columnStart[c + 1]; p++) {
      const r = vertexOfRow[rows[p]];
      if (r === -1 || r === c) continue;
      all[fill[r]++] = c;
      all[fill[c]++] = r;
    }
  }
  // Drop what stands twice.
  const mark = integers(size).fill(-1);
  const cleanStart = integers(size + 1);
  let used = 0;
  for (let v = 0; v < size; v++) {
    const from = start[v];
    const to = start[v + 1];
    cleanStart[v] = used;
    for (let p = from; p < to; p++) {
      const w = all[p];
      if (mark[w] === v) continue;
      mark[w] = v;
      all[used++] = w;
    }
  }
  cleanStart[size] = used;
  return { start: cleanStart, neighbours: all.subarray(0, used) };
}

/** Quotient-graph minimum degree. A vertex is a variable until it is eliminated, and then an element. */
function eliminate(size: number, start: Int32Array, neighbours: Int32Array): Int32Array {
  const order = integers(size);
  let placed = 0;
  // Segment of vertex v in `store`: `elements[v]` elements, then `variables[v]` variables. An element keeps its variables only.
  let store = integers(neighbours.length * 2 + 16);
  store.set(neighbours);
  let top = neighbours.length;
  const at = integers(size);
  const elements = integers(size);
  const variables = integers(size);
  const degree = integers(size);
  const VARIABLE = 0;
  const ELEMENT = 1;
  const DEAD = 2;
  const kind = new Uint8Array(size);
  const mark = integers(size);
  const outside = integers(size); // for elements: stamp + variables outside the pivot's element
  let stamp = 1;
  // Buckets of equal degree.
  const head = integers(size + 1).fill(-1);
  const after = integers(size);
  const before = integers(size);
  let least = 0;
  const insert = (v: number): void => {
    const d = degree[v];
    after[v] = head[d];
    before[v] = -1;
    if (head[d] !== -1) before[head[d]] = v;
    head[d] = v;
    if (d < least) least = d;
  };
  const remove = (v: number): void => {
    if (before[v] === -1) head[degree[v]] = after[v];
    else after[before[v]] = after[v];
    if (after[v] !== -1) before[after[v]] = before[v];
  };
  // Supply rails that touch everything go last: they would be last anyway, and cost time on the way.
  const dense = Math.max(24, Math.floor(4 * Math.sqrt(size)));
  const last: number[] = [];
  for (let v = 0; v < size; v++) {
    if (start[v + 1] - start[v] > dense) {
      kind[v] = DEAD;
      last.push(v);
    }
  }
  for (let v = 0; v < size; v++) {
    at[v] = start[v];
    if (kind[v] === DEAD) continue;
    let kept = start[v];
    for (let p = start[v]; p < start[v + 1]; p++) if (kind[store[p]] !== DEAD) store[kept++] = store[p];
    variables[v] = kept - start[v];
    degree[v] = variables[v];
  }
  for (let v = size - 1; v >= 0; v--) if (kind[v] === VARIABLE) insert(v);
  let remaining = size - last.length;
  while (remaining > 0) {
    while (head[least] === -1) least++;
    const pivot = head[least];
    remove(pivot);
    order[placed++] = pivot;
    remaining--;
    // The pivot's element: its variables and those of its elements, which it absorbs.
    const reach = degree[pivot] + 1;
    stamp++;
    const elementMark = stamp;
    mark[pivot] = elementMark;
    kind[pivot] = ELEMENT;
    let bound = variables[pivot];
    for (let p = at[pivot]; p < at[pivot] + elements[pivot]; p++) bound += variables[store[p]];
    if (top + bound > store.length) {
      const larger = integers(Math.max(store.length * 2, top + bound + reach));
      larger.set(store.subarray(0, top));
      store = larger;
    }
    const from = top;
    const pivotAt = at[pivot];
    const firstVariable = pivotAt + elements[pivot];
    for (let p = firstVariable; p < firstVariable + variables[pivot]; p++) {
      const v = store[p];
      if (kind[v] !== VARIABLE || mark[v] === elementMark) continue;
      mark[v] = elementMark;
      store[top++] = v;
    }
    for (let p = pivotAt; p < firstVariable; p++) {
      const e = store[p];
      if (kind[e] !== ELEMENT) continue;
      for (let s = at[e]; s < at[e] + variables[e]; s++) {
        const v = store[s];
        if (kind[v] !== VARIABLE || mark[v] === elementMark) continue;
        mark[v] = elementMark;
        store[top++] = v;
      }
      kind[e] = DEAD;
    }
    const count = top - from;
    at[pivot] = from;
    elements[pivot] = 0;
    // How much of every neighbouring element lies outside.
    stamp++;
    const base = stamp;
    let largest = 0;
    for (let s = from; s < top; s++) {
      const v = store[s];
      for (let p = at[v]; p < at[v] + elements[v]; p++) {
        const e = store[p];
        if (kind[e] !== ELEMENT) continue;
        if (outside[e] < base) {
          outside[e] = base + variables[e];
          if (variables[e] > largest) largest = variables[e];
        }
        outside[e]--;
      }
    }
    stamp = base + largest + 1;
    // Shorten the lists and find the new degrees.
    let kept = from;
    for (let s = from; s < top; s++) {
      const v = store[s];
      remove(v);
      const begin = at[v];
      const middle = begin + elements[v];
      const end = middle + variables[v];
      let write = begin;
      let sum = 0;
      for (let p = begin; p < middle; p++) {
        const e = store[p];
        if (kind[e] !== ELEMENT) continue;
        const beyond = outside[e] - base;
        if (beyond <= 0) {
          // Everything in it is in the pivot's element too.
          kind[e] = DEAD;
          continue;
        }
        sum += beyond;
        store[write++] = e;
      }
      const elementCount = write - begin;
      let variableCount = 0;
      for (let p = middle; p < end; p++) {
        const w = store[p];
        if (kind[w] !== VARIABLE || mark[w] === elementMark) continue;
        store[write++] = w;
        variableCount++;
      }
      if (elementCount === 0 && variableCount === 0) {
        // Nothing but the pivot's element holds it: it can follow at once without further fill.
        kind[v] = DEAD;
        order[placed++] = v;
        remaining--;
        continue;
      }
      // Room for the new element: at least one entry (the pivot or what it absorbed) has left the list.
      if (variableCount > 0) store[write] = store[begin + elementCount];
      store[begin + elementCount] = pivot;
      elements[v] = elementCount + 1;
      variables[v] = variableCount;
      degree[v] = sum + variableCount;
      store[kept++] = v;
    }
    variables[pivot] = kept - from;
    top = kept;
    for (let s = from; s < kept; s++) {
      const v = store[s];
      degree[v] = Math.min(degree[v] + (kept - from) - 1, remaining - 1);
      insert(v);
    }
    if (count === 0) variables[pivot] = 0;
  }
  for (const v of last) order[placed++] = v;
  return order;
}
