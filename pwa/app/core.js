// @ts-check
// The Go core as a WebAssembly reactor: bytes in, bytes out.
//
// The core is built for wasip1, so it asks its host for a few functions of
// WASI preview 1 (github.com/WebAssembly/WASI, snapshot_preview1). Only what
// the Go runtime really calls is answered; anything else is ENOSYS. The core
// opens no file and no socket: its clock is for the runtime's own scheduling,
// and every time it reasons about comes in as an argument.

import { lend } from './cbor.js';

/** What call() can be asked for; cmd/phonecore has the same list.
 * @enum {number} */
export const Op = {
  start: 1, load: 2, write: 3, send: 4, view: 5, open: 6, frame: 7, tick: 8, probe: 9, shut: 10,
  clock: 11, hash: 12, backoff: 13, pick: 14, unkeep: 15, rewrite: 16, bring: 17, forget: 18, hangs: 19, settle: 20,
};

/** The core said no, in a sentence for a person. */
export class Refused extends Error {
  /** @param {string} text @param {boolean} ask whether the person may insist */
  constructor(text, ask) {
    super(text);
    this.ask = ask;
  }
}

/** The core broke: this instance is of no more use. */
export class Trapped extends Error {}

const utf8 = new TextDecoder();

/**
 * Compiles the core once; each call of the answer makes a new instance.
 * @param {string} url @param {Promise<WebAssembly.Module | undefined>} given it may be compiled already
 * @returns {Promise<() => Promise<Core>>}
 */
export async function compile(url, given) {
  const module = (await given) ?? (await fetched(url));
  return async () => {
    const host = new Host();
    const instance = await WebAssembly.instantiate(module, { wasi_snapshot_preview1: host.imports() });
    host.memory = /** @type {WebAssembly.Memory} */ (instance.exports.memory);
    /** @type {() => void} */ (instance.exports._initialize)();
    return new Core(instance, host);
  };
}

/** @param {string} url */
async function fetched(url) {
  const response = await fetch(url);
  if (!response.ok) throw new Error(`the core is missing (${response.status})`);
  return response.headers.get('content-type')?.startsWith('application/wasm')
    ? WebAssembly.compileStreaming(response)
    : WebAssembly.compile(await response.arrayBuffer());
}

export class Core {
  /** @param {WebAssembly.Instance} instance @param {Host} host */
  constructor(instance, host) {
    const e = /** @type {any} */ (instance.exports);
    /** @type {(n: number) => number} */
    this.buffer = e.buffer;
    /** @type {(op: number, n: number) => bigint} */
    this.invoke = e.call;
    this.host = host;
    this.at = this.room = 0; // where the core takes an argument, and of how many bytes at most
  }

  /**
   * One synchronous call. The header is JSON text (parse it where it is read);
   * the blobs are copies.
   * @param {number} op @param {import('./cbor.js').CborValue} input
   * @returns {{json: string, blobs: Uint8Array[]}}
   */
  call(op, input) {
    const bytes = lend(input);
    let out;
    try {
      if (bytes.length > this.room) this.at = this.buffer((this.room = bytes.length));
      this.host.bytes().set(bytes, this.at);
      const packed = BigInt.asUintN(64, this.invoke(op, bytes.length));
      // The core's own memory, good until the next call: what leaves here is copied.
      out = this.host.bytes().subarray(Number(packed >> 32n), Number((packed >> 32n) + (packed & 0xffffffffn)));
    } catch (error) {
      throw new Trapped(`${error} ${this.host.said}`);
    }
    switch (out[0]) {
      case 0: {
        const view = new DataView(out.buffer, out.byteOffset);
        const end = 5 + view.getUint32(1, true);
        const json = utf8.decode(out.subarray(5, end));
        const blobs = [];
        for (let at = end; at < out.length; ) {
          const n = view.getUint32(at, true);
          blobs.push(out.slice(at + 4, at + 4 + n));
          at += 4 + n;
        }
        return { json, blobs };
      }
      case 1:
      case 2:
        throw new Refused(utf8.decode(out.subarray(1)), out[0] === 2);
      default:
        throw new Trapped(utf8.decode(out.subarray(1)));
    }
  }
}

const ENOSYS = 52;

/** The core's environment: its garbage collector starts when the heap is three
 * times what was live, not twice. A backlog makes little that stays. */
const SETTINGS = 'GOGC=200';

/** The few host functions of WASI that the Go runtime calls. */
class Host {
  constructor() {
    /** @type {WebAssembly.Memory | null} */
    this.memory = null;
    this.said = ''; // what the runtime wrote to its standard error
  }
  bytes() {
    return new Uint8Array(/** @type {WebAssembly.Memory} */ (this.memory).buffer);
  }
  data() {
    return new DataView(/** @type {WebAssembly.Memory} */ (this.memory).buffer);
  }
  imports() {
    /** @type {Record<string, (...args: any[]) => number>} */
    const known = {
      clock_time_get: (/** @type {number} */ id, /** @type {bigint} */ _precision, /** @type {number} */ at) => {
        const ms = id === 0 ? Date.now() : performance.now();
        this.data().setBigUint64(at, BigInt(Math.floor(ms * 1e6)), true);
        return 0;
      },
      random_get: (/** @type {number} */ at, /** @type {number} */ n) => {
        const random = new Uint8Array(n);
        for (let i = 0; i < n; i += 65536) crypto.getRandomValues(random.subarray(i, Math.min(n, i + 65536)));
        this.bytes().set(random, at);
        return 0;
      },
      fd_write: (/** @type {number} */ _fd, /** @type {number} */ list, /** @type {number} */ count, /** @type {number} */ done) => {
        const data = this.data();
        let n = 0;
        for (let i = 0; i < count; i++) {
          const at = data.getUint32(list + 8 * i, true);
          const size = data.getUint32(list + 8 * i + 4, true);
          this.said = (this.said + utf8.decode(this.bytes().slice(at, at + size))).slice(-2000);
          n += size;
        }
        data.setUint32(done, n, true);
        return 0;
      },
      args_sizes_get: (/** @type {number} */ a, /** @type {number} */ b) => this.words(a, b, 0, 0),
      args_get: () => 0,
      environ_sizes_get: (/** @type {number} */ a, /** @type {number} */ b) => this.words(a, b, 1, SETTINGS.length + 1),
      environ_get: (/** @type {number} */ list, /** @type {number} */ at) => {
        this.data().setUint32(list, at, true);
        this.bytes().set(new TextEncoder().encode(SETTINGS + '\0'), at);
        return 0;
      },
      sched_yield: () => 0,
      // The runtime asks to sleep a moment; nothing here may block, so it is over at once.
      poll_oneoff: (/** @type {number} */ subscriptions, /** @type {number} */ events, /** @type {number} */ count, /** @type {number} */ done) => {
        const data = this.data();
        for (let i = 0; i < count; i++) {
          data.setBigUint64(events + 32 * i, data.getBigUint64(subscriptions + 48 * i, true), true);
          data.setUint32(events + 32 * i + 8, 0, true);
        }
        data.setUint32(done, count, true);
        return 0;
      },
      proc_exit: (/** @type {number} */ code) => {
        throw new Error(`the core ended with ${code}`);
      },
    };
    return new Proxy(known, { get: (have, name) => have[/** @type {string} */ (name)] ?? (() => ENOSYS) });
  }
  /** @param {number} a @param {number} b @param {number} x @param {number} y */
  words(a, b, x, y) {
    const data = this.data();
    data.setUint32(a, x, true);
    data.setUint32(b, y, true);
    return 0;
  }
}
