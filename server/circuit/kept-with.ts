/**
 * What has been worked out for a circuit or an analysis, kept with it. A `WeakMap` of a module would do the same in fewer words, but
 * V8's small collections take all values of one that has grown old for alive: every analysis would outlive the check that it was made
 * for until the next full collection, which then comes sooner, costs more, and takes with it the optimised code of whatever
 * functions are not in use at that moment.
 */

const ROOM = Symbol("kept");

/** How many kinds of things are kept, each in a place of its own. */
let kinds = 0;

export class KeptWith<Key extends object, Value> {
  private readonly place = kinds++;

  get(key: Key): Value | undefined {
    return roomOf(key)?.[this.place] as Value | undefined;
  }

  /** Also true where what is kept is `undefined`. */
  has(key: Key): boolean {
    const room = roomOf(key);
    return room !== undefined && this.place in room;
  }

  set(key: Key, value: Value): void {
    let room = roomOf(key);
    if (!room) {
      room = [];
      // Not enumerable: a copy with `...` is another circuit, and what was found for the first does not hold for it.
      Object.defineProperty(key, ROOM, { value: room });
    }
    room[this.place] = value;
  }
}

const roomOf = (key: object): unknown[] | undefined => (key as { readonly [ROOM]?: unknown[] })[ROOM];
