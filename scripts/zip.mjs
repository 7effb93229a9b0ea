/** Zip files as PKWARE's APPNOTE describes them: whole in memory, without Zip64, and with a fixed date, so that the same content makes the same file. */
import { deflateRawSync } from "node:zlib";

const LOCAL = 0x04034b50;
const CENTRAL = 0x02014b50;
const END = 0x06054b50;
const VERSION = 20;
const UTF8_NAMES = 0x0800;
const DEFLATED = 8;
/** 1 January 1980, the first date that the format knows. */
const DATE = 0x0021;

const CRC = Int32Array.from({ length: 256 }, (_, byte) => {
  let value = byte;
  for (let bit = 0; bit < 8; bit++) value = value & 1 ? 0xedb88320 ^ (value >>> 1) : value >>> 1;
  return value;
});

function crc32(bytes) {
  let value = -1;
  for (const byte of bytes) value = CRC[(value ^ byte) & 0xff] ^ (value >>> 8);
  return ~value >>> 0;
}

/** @param {Map<string, Buffer>} content path (with `/`) to bytes @returns {Buffer} */
export function zip(content) {
  const parts = [];
  const central = [];
  let offset = 0;
  for (const [path, bytes] of content) {
    const name = Buffer.from(path, "utf8");
    const packed = deflateRawSync(bytes, { level: 9 });
    // What the local and the central header share, from the version on.
    const shared = Buffer.alloc(26);
    shared.writeUInt16LE(VERSION, 0);
    shared.writeUInt16LE(UTF8_NAMES, 2);
    shared.writeUInt16LE(DEFLATED, 4);
    shared.writeUInt16LE(DATE, 8);
    shared.writeUInt32LE(crc32(bytes), 10);
    shared.writeUInt32LE(packed.length, 14);
    shared.writeUInt32LE(bytes.length, 18);
    shared.writeUInt16LE(name.length, 22);
    parts.push(number(LOCAL, 4), shared, name, packed);
    central.push(number(CENTRAL, 4), number(VERSION, 2), shared, Buffer.alloc(10), number(offset, 4), name);
    offset += 30 + name.length + packed.length;
  }
  const directory = Buffer.concat(central);
  const end = Buffer.alloc(22);
  end.writeUInt32LE(END, 0);
  end.writeUInt16LE(content.size, 8);
  end.writeUInt16LE(content.size, 10);
  end.writeUInt32LE(directory.length, 12);
  end.writeUInt32LE(offset, 16);
  return Buffer.concat([...parts, directory, end]);
}

function number(value, length) {
  const bytes = Buffer.alloc(length);
  bytes.writeUIntLE(value, 0, length);
  return bytes;
}
