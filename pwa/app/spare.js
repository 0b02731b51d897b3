// @ts-check
// What this phone can spare. Copies of what is over stay for a month, to heal a
// shop whose disk died; then the shop says, once a day, which may go: jobs that
// were handed over, and of a place's air the rows before what a new phone would
// be given. They go at the next start, while no session knows how far each copy
// reaches.

import { encode } from './cbor.js';

const HOUR = 3600 * 1000, DAY = 24 * HOUR;

/** @typedef {{asked: number, over?: string[], begin?: Record<string, {order: number, hash: string}>}} Answer */

export class Spare {
  /** @param {import('./store.js').Store} store */
  constructor(store) {
    this.store = store;
    this.looked = 0; // ms
  }

  /** Asks the shop, once a day; called whenever it is there. */
  async ask() {
    if (Math.abs(Date.now() - this.looked) < HOUR) return;
    this.looked = Date.now();
    try {
      /** @type {Answer | undefined} */
      const last = await this.store.fact('spare');
      if (last && Math.abs(Date.now() - last.asked) < DAY) return;
      const response = await fetch('/spare', { method: 'POST', body: JSON.stringify(await this.store.copies()) });
      if (response.ok) await this.store.keep('meta', 'spare', { ...(await response.json()), asked: Date.now() }, false);
    } catch (error) {
      console.info('what can be spared is asked another day:', error);
    }
  }

  /** Lets go of what the shop said. */
  async go() {
    /** @type {Answer | undefined} */
    const said = await this.store.fact('spare');
    if (!said?.over) return;
    for (const job of said.over) await this.store.leave(job);
    for (const [place, { order, hash }] of Object.entries(said.begin ?? {})) {
      await this.store.beginBehind(`p:${place}`, order, (cursor) => begins(cursor, order, Uint8Array.from(atob(hash), (c) => c.charCodeAt(0))));
    }
    await this.store.keep('meta', 'spare', { asked: said.asked }, false);
  }
}

/** How far a copy has come, with another beginning: the core keeps [epoch, order,
 * hash, signature, and the order and hash that the copy begins behind].
 * @param {Uint8Array} cursor @param {number} order @param {Uint8Array} hash
 * @returns {Uint8Array | null} null if the copy does not reach there, or begins later */
export function begins(cursor, order, hash) {
  let at = 1;
  const item = () => {
    const major = cursor[at] >> 5, short = cursor[at++] & 31;
    let n = short < 24 ? short : 0;
    for (let left = short < 24 ? 0 : 1 << (short - 24); left > 0; left--) n = n * 256 + cursor[at++];
    if (major === 2) at += n;
    return n;
  };
  if (cursor[0] !== 0x86) return null; // of an older app: it has no beginning yet
  item();
  const reaches = item();
  item();
  item();
  const end = at;
  if (order > reaches || order <= item()) return null;
  const rest = encode([order, hash]).subarray(1);
  const out = new Uint8Array(end + rest.length);
  out.set(cursor.subarray(0, end));
  out.set(rest, end);
  return out;
}
