/**
 * The valves that an analysis knows: a user's own types before the published ones. No global state: a book is made for
 * an analysis and handed along.
 */
import type { ValveFile } from "./file.ts";
import {
  equivalentNote,
  factsOf,
  findSemiconductor,
  findValve,
  limitsFor,
  limitsOfName,
  nameKey,
  readingsOf,
  semiconductorNames,
  type ValveFacts,
  type ValveLimits,
  valveNames,
} from "./index.ts";

export interface ValveBook {
  /** A valve or rectifier valve by any name, whatever the case. */
  find(name: string): ValveFacts | undefined;
  findSemiconductor(name: string): ValveFacts | undefined;
  /** Why the name is not quite the type that it stands for. */
  note(name: string): string | undefined;
  /** Limits that the name has of its own, apart from the type's; of a section, where the sections differ. */
  limitsOfName(name: string, section?: string): ValveLimits | undefined;
  names(): readonly string[];
  semiconductorNames(): readonly string[];
}

export const publishedBook: ValveBook = {
  find: findValve,
  findSemiconductor,
  note: equivalentNote,
  limitsOfName,
  names: valveNames,
  semiconductorNames,
};

/** The book that a circuit was built with. */
export const bookOf = (circuit: { readonly book?: ValveBook }): ValveBook => circuit.book ?? publishedBook;

/** @param own a user's types, as `userValves` gives them; one that has a published name takes its place */
export function bookWith(own: readonly ValveFile[]): ValveBook {
  if (own.length === 0) return publishedBook;
  let book = booksWith.get(own);
  if (!book) {
    book = bookOfOwn(own);
    booksWith.set(own, book);
  }
  return book;
}

const booksWith = new WeakMap<readonly ValveFile[], ValveBook>();

function bookOfOwn(own: readonly ValveFile[]): ValveBook {
  const files = new Map<string, { file: ValveFile; note?: string }>();
  for (const file of own) {
    for (const { name, note } of file.equivalents) files.set(nameKey(name), { file, note });
  }
  for (const file of own) files.set(nameKey(file.type), { file });
  const readAs = (name: string) => readingsOf(name).find((reading) => files.has(nameKey(reading)));
  const ownOf = (name: string) => files.get(nameKey(readAs(name) ?? name));
  const namesWhere = (wanted: (file: ValveFile) => boolean) =>
    own
      .filter(wanted)
      .flatMap((file) => [file.type, ...file.equivalents.map((equivalent) => equivalent.name)]);
  return {
    find(name) {
      const found = ownOf(name);
      if (!found) return findValve(name);
      return found.file.kind === "diode" ? undefined : factsOf(found.file);
    },
    findSemiconductor(name) {
      const found = ownOf(name);
      if (!found) return findSemiconductor(name);
      return found.file.kind === "diode" ? factsOf(found.file) : undefined;
    },
    note(name) {
      const found = ownOf(name);
      return found ? found.note : equivalentNote(name);
    },
    limitsOfName(name, section) {
      const found = ownOf(name);
      return found ? limitsFor(found.file, readAs(name) ?? name, section) : limitsOfName(name, section);
    },
    names: () => [...new Set([...namesWhere((file) => file.kind !== "diode"), ...valveNames()])],
    semiconductorNames: () => [
      ...new Set([...namesWhere((file) => file.kind === "diode"), ...semiconductorNames()]),
    ],
  };
}
