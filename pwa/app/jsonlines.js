// @ts-check
// Lines as JSON Lines, in the form of `bayhold export`: what a person carries
// to the shop as a file when nothing else goes. Each line has its readable
// view, its receipt if the shop has it, and its exact bytes.
//
// CBOR becomes JSON here and nowhere else (RFC 8949 section 6.1, with byte
// strings as {"base64url": ...}); the core answers in JSON by itself.

import { base64url } from './journal.js';

const utf8 = new TextDecoder();
const CLASSES = /** @type {Record<string, string>} */ ({ s: 'shop', p: 'place', j: 'job' });

class Reader {
  /** @param {Uint8Array} bytes */
  constructor(bytes) {
    this.bytes = bytes;
    this.at = 0;
  }

  /** The head of the next item: its major type and its number.
   * @returns {{major: number, n: bigint}} */
  head() {
    const first = this.bytes[this.at++], least = first & 31;
    let n = BigInt(least);
    if (least >= 24) {
      n = 0n;
      for (const end = this.at + (1 << (least - 24)); this.at < end; this.at++) n = n * 256n + BigInt(this.bytes[this.at]);
    }
    return { major: first >> 5, n };
  }

  /** The next item's bytes: a byte string's or a text's. */
  take() {
    const n = Number(this.head().n);
    return this.bytes.subarray(this.at, (this.at += n));
  }

  number() {
    const { major, n } = this.head();
    return major === 1 ? -1n - n : n;
  }

  /** The next item as JSON text. @returns {string} */
  json() {
    const before = this.at, head = this.head(), n = head.n; // not taken apart: packing would ask for the head first
    const each = () => Array.from({ length: Number(n) });
    switch (head.major) {
      case 0: return String(n);
      case 1: return String(-1n - n);
      case 2: this.at = before; return `{"base64url":"${base64url(this.take())}"}`;
      case 3: this.at = before; return JSON.stringify(utf8.decode(this.take()));
      case 4: return `[${each().map(() => this.json()).join()}]`;
      case 5: return this.map(each());
    }
    return n === 20n ? 'false' : n === 21n ? 'true' : 'null';
  }

  /** @param {unknown[]} each @returns {string} */
  map(each) {
    const pairs = each.map(() => [this.json(), this.json()]);
    if (pairs.length === 1 && pairs[0][0] === '"base64url"') pairs[0][1] = `{"base64url":${pairs[0][1]}}`; // a key of its own, not the mark of bytes
    return `{${pairs.map(([key, value]) => `${key}:${value}`).join()}}`;
  }
}

/** @param {Uint8Array} id 16 bytes */
function uuid(id) {
  const hex = Array.from(id, (b) => b.toString(16).padStart(2, '0')).join('');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

/** One item of CBOR as JSON text. @param {Uint8Array} bytes */
export const json = (bytes) => new Reader(bytes).json();

/** One entry as a line of text. @param {Uint8Array} bytes @param {Uint8Array} [receipt] */
export function line(bytes, receipt) {
  const r = new Reader(bytes);
  if (bytes[0] === 0x82) r.at = 35; // behind the hash stands what is left of an erased line
  let out = '';
  for (let n = Number(r.head().n); n > 0; n--) {
    switch (Number(r.number())) {
      case 0: {
        const log = r.take(), class_ = String.fromCharCode(log[0]);
        out += `"log":"${CLASSES[class_] ?? class_}:${uuid(log.subarray(1))}"`;
        break;
      }
      case 1: out += `,"writer":"${uuid(r.take())}"`; break;
      case 2: out += `,"seq":${r.number()}`; break;
      case 3: {
        const stamp = JSON.parse(r.json());
        out += `,"at":"${new Date(stamp[0]).toISOString()}"`;
        break;
      }
      case 4: {
        const by = r.take();
        if (by.length > 0) out += `,"by":"${uuid(by)}"`;
        break;
      }
      case 5: out += `,"kind":${r.json()}`; break;
      case 6: out += `,"body":${r.json()}`; break;
      case 7: {
        const strikes = Array.from({ length: Number(r.head().n) }, () => (r.head(), `["${uuid(r.take())}",${r.number()}]`));
        out += `,"strikes":[${strikes.join()}]`;
        break;
      }
      default: r.json();
    }
  }
  if (receipt) {
    const c = new Reader(receipt);
    c.head();
    const [epoch, order, arrived, earliest, latest] = Array.from({ length: 5 }, () => c.number());
    out += `,"receipt":{"epoch":${epoch},"order":${order},"arrived":${arrived},"earliest":${earliest},"latest":${latest}}`;
  }
  return `{${out},"bytes":"${base64url(bytes)}"}\n`;
}

/** A row of the store, which is receipts and entries by turns, as lines.
 * @param {Uint8Array} row @returns {string[]} */
export function rowLines(row) {
  const r = new Reader(row), out = [];
  while (r.at < row.length) {
    const receipt = r.take(), entry = r.take();
    out.push(line(entry, receipt));
  }
  return out;
}
