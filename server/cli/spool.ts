/**
 * Pieces of a text put by until the whole is known: in memory while they are few, then in a temporary file. Its name is
 * taken away as soon as it is open, so that nothing of it is left however the process ends.
 */
import { closeSync, openSync, readSync, unlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Part, Pieces } from "../reports/writer.ts";
import { cryptography } from "./on-demand.ts";

/** Characters held in memory. */
const MOST_HELD = 256 * 1024;
/** Bytes read back at a time. */
const READ_AT_ONCE = 64 * 1024;

export class Spool {
  /** Where each piece in the file ends, in bytes. */
  private readonly ends: number[] = [];
  private held: string[] = [];
  private heldLength = 0;
  private file: number | undefined;
  private named: string | undefined;
  private full = false;

  push(piece: string): void {
    this.held.push(piece);
    this.heldLength += piece.length;
    if (this.heldLength > MOST_HELD && !this.full) this.spill();
  }

  /** The parts in their order; those from the file as chunks of UTF-8, which may end within a character. */
  *read(parts: Iterable<Part>): Generator<string | Buffer> {
    for (const part of parts) {
      if (typeof part === "string") yield part;
      else yield* this.pieces(part);
    }
  }

  close(): void {
    if (this.file !== undefined) closeSync(this.file);
    if (this.named !== undefined) unlinkSync(this.named);
    this.file = undefined;
    this.named = undefined;
    this.held = [];
  }

  private spill(): void {
    try {
      this.file ??= this.open();
      let end = this.ends.at(-1) ?? 0;
      writeFileSync(this.file, this.held.join(""));
      for (const piece of this.held) {
        end += Buffer.byteLength(piece);
        this.ends.push(end);
      }
      this.held = [];
      this.heldLength = 0;
    } catch {
      // No place for temporary files, or none left in it: the rest stays in memory.
      this.full = true;
    }
  }

  private open(): number {
    const path = join(tmpdir(), `derate-${process.pid}-${cryptography().randomBytes(6).toString("hex")}`);
    const file = openSync(path, "wx+", 0o600);
    try {
      unlinkSync(path);
    } catch {
      // A system that keeps the name of an open file: taken away when it is closed.
      this.named = path;
    }
    return file;
  }

  private *pieces({ from, to }: Pieces): Generator<string | Buffer> {
    const kept = this.ends.length;
    if (this.file !== undefined && from < Math.min(to, kept)) {
      let at = from === 0 ? 0 : this.ends[from - 1];
      const end = this.ends[Math.min(to, kept) - 1];
      while (at < end) {
        const chunk = Buffer.alloc(Math.min(READ_AT_ONCE, end - at));
        const length = readSync(this.file, chunk, 0, chunk.length, at);
        if (length === 0) throw new Error("a temporary file lost its end");
        yield chunk.subarray(0, length);
        at += length;
      }
    }
    for (let nth = Math.max(from, kept); nth < to; nth++) yield this.held[nth - kept];
  }
}
