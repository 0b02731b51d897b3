// @ts-check
// CBOR as the core reads it: RFC 8949 core deterministic encoding (section
// 4.2.1) of the few shapes an intent has. Integers, text, bytes, booleans,
// null, arrays and maps with text keys; nothing is decoded here, because the
// core answers in JSON.

/** @typedef {null | boolean | number | string | Uint8Array | any[] | {[key: string]: any}} CborValue */

const text = new TextEncoder();

/**
 * @param {CborValue} value
 * @returns {Uint8Array}
 */
export const encode = (value) => lend(value).slice();

/**
 * What encode answers, in memory that the next call writes over.
 * @param {CborValue} value
 * @returns {Uint8Array}
 */
export function lend(value) {
  if (sink.bytes.length > KEEPS) sink = new Sink();
  sink.length = 0;
  item(sink, value);
  return sink.bytes.subarray(0, sink.length);
}

/** A byte buffer that doubles. */
class Sink {
  constructor() {
    this.bytes = new Uint8Array(256);
    this.length = 0;
  }
  /** @param {number} n */
  room(n) {
    if (this.length + n <= this.bytes.length) return;
    let size = this.bytes.length;
    while (size < this.length + n) size *= 2;
    const wider = new Uint8Array(size);
    wider.set(this.bytes.subarray(0, this.length));
    this.bytes = wider;
  }
  /** @param {number} b */
  byte(b) {
    this.room(1);
    this.bytes[this.length++] = b;
  }
  /** @param {Uint8Array} b */
  put(b) {
    this.room(b.length);
    this.bytes.set(b, this.length);
    this.length += b.length;
  }
}

const KEEPS = 1 << 20; // bytes; longer is a start's, once
let sink = new Sink();

/** @param {Sink} out @param {number} major @param {number} n */
function head(out, major, n) {
  const m = major << 5;
  if (n < 24) out.byte(m | n);
  else if (n < 0x100) bytes(out, m | 24, n, 1);
  else if (n < 0x10000) bytes(out, m | 25, n, 2);
  else if (n < 0x100000000) bytes(out, m | 26, n, 4);
  else bytes(out, m | 27, n, 8);
}

/** @param {Sink} out @param {number} first @param {number} n @param {number} width */
function bytes(out, first, n, width) {
  out.byte(first);
  for (let i = width - 1; i >= 0; i--) out.byte(Math.floor(n / 2 ** (8 * i)) % 256);
}

/** @param {Sink} out @param {CborValue} v */
function item(out, v) {
  if (v === null) out.byte(0xf6);
  else if (typeof v === 'boolean') out.byte(v ? 0xf5 : 0xf4);
  else if (typeof v === 'number') integer(out, v);
  else if (typeof v === 'string') {
    const b = text.encode(v);
    head(out, 3, b.length);
    out.put(b);
  } else if (v instanceof Uint8Array) {
    head(out, 2, v.length);
    out.put(v);
  } else if (Array.isArray(v)) {
    head(out, 4, v.length);
    for (const x of v) item(out, x);
  } else map(out, v);
}

/** @param {Sink} out @param {number} n */
function integer(out, n) {
  if (!Number.isSafeInteger(n)) throw new RangeError(`${n} is no whole number that an entry can hold`);
  if (n >= 0) head(out, 0, n);
  else head(out, 1, -1 - n);
}

/** @type {Map<string, Uint8Array>} few keys, in every call */
const known = new Map();

/** @param {string} key */
function keyBytes(key) {
  let b = known.get(key);
  if (!b) {
    b = text.encode(key);
    if (known.size < 200) known.set(key, b); // a rule set's values are keys too
  }
  return b;
}

/** @type {Map<string, {k: string, b: Uint8Array}[]>} the keys of a map in order; few sets of them, over and over */
const orders = new Map();

/** Keys go shorter first, then bytewise: the order of their encodings.
 * @param {Sink} out @param {{[key: string]: any}} map */
function map(out, map) {
  const names = Object.keys(map).filter((k) => map[k] !== undefined);
  const set = names.join('\0');
  let keys = orders.get(set);
  if (!keys) {
    keys = names.map((k) => ({ k, b: keyBytes(k) })).sort((x, y) => x.b.length - y.b.length || bytewise(x.b, y.b));
    if (orders.size < 200) orders.set(set, keys);
  }
  head(out, 5, keys.length);
  for (const { k, b } of keys) {
    head(out, 3, b.length);
    out.put(b);
    item(out, map[k]);
  }
}

/** @param {Uint8Array} a @param {Uint8Array} b */
function bytewise(a, b) {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return a[i] - b[i];
  return 0;
}
