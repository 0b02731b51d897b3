// @ts-check
// The phone's album: photos and spoken notes on this phone and their way to the
// shop. A spoken note goes the way of a photo.

import { Op, Refused } from './core.js';
import { send, shrink } from './photos.js';
import { full } from './store.js';

const LATER = 10_000; // ms between tries after one failed
const SPARE = 8 * 1024 * 1024; // bytes that photos leave free for lines

export class Album {
  /** @param {import('./phone.js').Phone} phone @param {() => void} changed */
  constructor(phone, changed) {
    this.phone = phone;
    this.changed = changed;
    this.sending = false;
    this.waiting = true; // not known before the first look
    this.failed = 0;
    /** Photos that are only on this phone. */
    this.left = 0;
    /** Lines on their way go first. @type {() => Promise<void>} */
    this.turn = async () => {};
  }

  async count() {
    this.left = await this.phone.store.photosLeft();
    this.changed();
    return this.left;
  }

  /** Scales, names and stores a photo; it is on disk when this answers. The
   * same photo again is the same photo.
   * @param {string} job @param {ArrayBuffer} file */
  async add(job, file) {
    let bytes;
    try {
      bytes = await shrink(file);
    } catch (error) {
      throw new Refused(error instanceof Error ? error.message : String(error), false);
    }
    return this.take(job, 'image/jpeg', bytes);
  }

  /** Names and stores bytes; they are on disk when this answers.
   * @param {string} job @param {string} type @param {ArrayBuffer} bytes */
  async take(job, type, bytes) {
    const { sha } = JSON.parse(this.phone.call(Op.hash, { bytes: new Uint8Array(bytes) }).json);
    if (!(await this.phone.store.photo(sha))) await this.put({ sha, job, type, bytes, waiting: 1 });
    await this.count();
    this.waiting = true;
    this.failed = 0;
    this.send();
    return { sha, bytes: bytes.byteLength };
  }

  /** Photos give way to lines: the last megabytes are not theirs.
   * @param {import('./store.js').Photo} photo */
  async put(photo) {
    const { usage = 0, quota = Infinity } = (await navigator.storage?.estimate?.()) ?? {};
    const tight = quota - usage < SPARE + photo.bytes.byteLength;
    if (tight && !(await this.phone.store.makeRoom())) throw new Refused(NO_ROOM, false);
    try {
      await this.phone.store.keep('photos', photo.sha, photo, true);
    } catch (error) {
      throw full(error) ? new Refused(NO_ROOM, false) : error;
    }
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

  /** The shop's store is another one: it may lack photos that it had. What it
   * has it says when it is asked. */
  async again() {
    await this.phone.store.photosAgain();
    this.waiting = true;
    this.failed = 0;
    await this.count();
  }

  /** Sends what waits, one photo after the other. */
  async send() {
    if (this.sending || !this.waiting || Date.now() - this.failed < LATER) return;
    this.sending = true;
    this.waiting = false;
    try {
      for (const sha of await this.phone.store.photosWaiting()) {
        const photo = await this.phone.store.photo(sha);
        if (!photo) continue;
        const refused = await send(photo, this.turn);
        if (refused) this.phone.fault(photo.type.startsWith('audio/') ? `The shop does not take a voice note: ${refused}` : `The shop does not take a photo: ${refused}`);
        // A photo stays on the phone after it is at the shop; one that the
        // shop refuses stays too, and is not tried again.
        const { waiting, ...kept } = photo;
        await this.phone.store.keep('photos', sha, refused ? { ...kept, refused } : kept, false);
        await this.count();
      }
    } catch (error) {
      console.info('photo later:', error);
      this.waiting = true; // no way through now; the next beat tries again
      this.failed = Date.now();
    } finally {
      this.sending = false;
      this.changed();
    }
  }
}

const NO_ROOM = 'This phone has no room for it. Delete something on the phone and take it again; lines still go.';
