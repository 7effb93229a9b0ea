/**
 * Numbers in rows, cut from slabs. V8 keeps a typed array of more than 64 bytes outside its heap, with storage of its own to ask
 * for and to give back: some 0.7 µs, as long as factoring a small network, and a check makes thousands of them. A view of a slab
 * costs a tenth of that.
 *
 * A slab lives as long as any row cut from it. That suits what an analysis makes, which is let go together; what lives on by
 * itself (tables, scratch of a module) is better off with an array of its own.
 */

/** Bytes of a slab. */
const SLAB = 1 << 15;
/** A row of more bytes than this has storage of its own: it would leave too much of a slab unused. */
const LARGEST = SLAB / 8;
/** Rows up to this are kept within V8's heap, which is quicker still. */
const LEAST = 64;

let slab = new ArrayBuffer(0);
let used = 0;

/** Where in the slab the next bytes are; a new slab where this one has not so many left. */
function cut(bytes: number): number {
  // Every row begins where a double may.
  const size = (bytes + 7) & ~7;
  if (used + size > slab.byteLength) {
    slab = new ArrayBuffer(SLAB);
    used = 0;
  }
  const at = used;
  used += size;
  return at;
}

/** @returns as many noughts */
export function doubles(length: number): Float64Array<ArrayBuffer> {
  const bytes = 8 * length;
  if (bytes <= LEAST || bytes > LARGEST) return new Float64Array(length);
  const at = cut(bytes);
  return new Float64Array(slab, at, length);
}

/** @returns as many noughts */
export function integers(length: number): Int32Array<ArrayBuffer> {
  const bytes = 4 * length;
  if (bytes <= LEAST || bytes > LARGEST) return new Int32Array(length);
  const at = cut(bytes);
  return new Int32Array(slab, at, length);
}

/** The same numbers once more: all, or those from `from` to before `to`. */
export function copyOf(values: Float64Array, from = 0, to = values.length): Float64Array<ArrayBuffer> {
  const copy = doubles(to - from);
  if (from === 0 && to === values.length) copy.set(values);
  else for (let k = from; k < to; k++) copy[k - from] = values[k];
  return copy;
}
