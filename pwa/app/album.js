// @ts-check
// The phone's album: photos on this phone and their way to the shop.

import { Op, Refused } from './core.js';
import { send, shrink } from './photos.js';

const LATER = 10_000; // ms between tries after one failed

export class Album {
  /** @param {import('./phone.js').Phone} phone @param {() => void} changed */
  constructor(phone, changed) {
    this.phone = phone;
    this.changed = changed;
    this.sending = false;
    this.waiting = true; // not known before the first look
    this.failed = 0;
  }

  /** Scales, names and stores a photo; it is on disk when this answers.
   * @param {string} job @param {ArrayBuffer} file */
  async add(job, file) {
    let bytes;
    try {
      bytes = await shrink(file);
    } catch (error) {
      throw new Refused(error instanceof Error ? error.message : String(error), false);
    }
    const { sha } = JSON.parse(this.phone.call(Op.hash, { bytes: new Uint8Array(bytes) }).json);
    const photo = { sha, job, type: 'image/jpeg', bytes, waiting: 1 };
    await this.phone.store.keep('photos', sha, photo, true);
    this.waiting = true;
    this.failed = 0;
    this.send();
    return { sha, bytes: bytes.byteLength };
  }

  /** @param {string} sha @returns {Promise<ArrayBuffer | null>} */
  async find(sha) {
    const here = await this.phone.store.photo(sha);
    if (here) return here.bytes;
    try {
      const response = await fetch(`/photos/${sha}`);
      return response.ok ? await response.arrayBuffer() : null;
    } catch {
      return null;
    }
  }

  /** Sends what waits, one photo after the other. */
  async send() {
    if (this.sending || !this.waiting || Date.now() - this.failed < LATER) return;
    this.sending = true;
    this.waiting = false;
    try {
      for (const photo of await this.phone.store.photosWaiting()) {
        const end = await send(photo, AbortSignal.timeout(120_000));
        // A photo stays on the phone after it is at the shop; one that the
        // shop refuses stays too, and is not tried again.
        const { waiting, ...kept } = photo;
        await this.phone.store.keep('photos', photo.sha, { ...kept, refused: end === 'refused' }, false);
      }
    } catch {
      this.waiting = true; // no way through now; the next beat tries again
      this.failed = Date.now();
    } finally {
      this.sending = false;
      this.changed();
    }
  }
}
