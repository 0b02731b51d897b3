// @ts-check
// A second place for the lines that are only on this phone, beside the
// database: browsers lose databases (a log that cannot be opened any more, a
// connection that never comes back), and a line that is nowhere else must
// outlive that.
//
// It is a file of the origin's private file system for each tab, one line of
// JSON per entry. A tab holds its file alone, so what the dead left behind is
// what can be opened. The file is written while the database syncs, costs no
// wait of its own, and is empty whenever the shop has everything.
//
// Where a browser has no such files the phone does without; status says so.

const FOLDER = 'outbox';
const QUIET = 1000; // ms after the last line until the file is synced too

/** @typedef {import('./store.js').Ref & {bytes: Uint8Array}} Row */

const utf8 = new TextEncoder();

export class Journal {
  constructor() {
    /** @type {any} the file, held alone; null before it is open and where there are none */
    this.file = null;
    this.name = crypto.randomUUID();
    this.end = 0;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.quiet = undefined;
    this.ready = this.open();
  }

  async open() {
    try {
      this.file = await hold(await folder(), this.name);
    } catch (error) {
      console.info('this phone keeps no second copy of its lines:', error);
    }
  }

  /** Puts lines behind the others. Never throws: the database is what counts.
   * @param {Row[]} rows @returns {number} where the file ended before, for back() */
  add(rows) {
    const before = this.end;
    if (!this.file) return before;
    try {
      this.end += this.file.write(utf8.encode(text(rows)), { at: this.end });
    } catch (error) {
      console.warn('no second copy:', error); // full, as a rule: the database says so too
    }
    clearTimeout(this.quiet);
    this.quiet = setTimeout(() => this.file?.flush(), QUIET);
    return before;
  }

  /** Takes back what was added to lines that did not reach the database.
   * @param {number} end */
  back(end) {
    this.end = Math.min(this.end, end);
    this.file?.truncate(this.end);
  }

  /** From now on these lines and no others. A file that did not open, because
   * the phone was full, is tried again when it would lack nothing.
   * @param {Row[]} rows */
  reset(rows) {
    this.back(0);
    if (rows.length > 0) this.add(rows);
    else this.ready = this.ready.then(() => this.file || this.open());
  }

  /** What this tab and tabs that are gone wrote down, each line once; a torn
   * end is none. @returns {Promise<Row[]>} */
  async all() {
    /** @type {Map<string, Row>} */
    const rows = new Map();
    await this.ready;
    const take = (/** @type {any} */ file) => {
      const bytes = new Uint8Array(file.getSize());
      file.read(bytes, { at: 0 });
      for (const line of new TextDecoder().decode(bytes).split('\n')) {
        try {
          const { log, writer, seq, bytes } = JSON.parse(line);
          if (seq > 0) rows.set(`${log} ${writer} ${seq}`, { log, writer, seq, bytes: unbase64url(bytes) });
        } catch {
          // A line that is none: the phone died in the middle of it.
        }
      }
    };
    if (this.file) {
      take(this.file);
      await this.others(take);
    }
    return [...rows.values()];
  }

  /** Removes what tabs that are gone left: it stands in this tab's file now. */
  async sweep() {
    await this.ready;
    if (!this.file) return;
    this.file.flush();
    const dir = await folder();
    for (const name of await this.others(() => {})) await dir.removeEntry(name).catch(() => {});
  }

  /** @param {(file: any) => void} look at each file that no living tab holds
   * @returns {Promise<string[]>} their names */
  async others(look) {
    const dir = await folder();
    const names = [];
    for await (const name of dir.keys()) {
      const file = name === this.name ? null : await hold(dir, name).catch(() => null);
      if (!file) continue;
      names.push(name);
      look(file);
      file.close();
    }
    return names;
  }
}

/** @returns {Promise<any>} */
async function folder() {
  return (await navigator.storage.getDirectory()).getDirectoryHandle(FOLDER, { create: true });
}

/** @param {any} dir @param {string} name */
async function hold(dir, name) {
  return (await dir.getFileHandle(name, { create: true })).createSyncAccessHandle();
}

/** One JSON object per line, the entry's bytes in base64url. @param {Row[]} rows */
const text = (rows) => rows.map(({ bytes, log, writer, seq }) => JSON.stringify({ log, writer, seq, bytes: base64url(bytes) }) + '\n').join('');

/** @param {Uint8Array} bytes RFC 4648 section 5, without padding */
export function base64url(bytes) {
  let text = '';
  for (const b of bytes) text += String.fromCharCode(b);
  return btoa(text).replaceAll('+', '-').replaceAll('/', '_').replaceAll('=', '');
}

/** @param {string} text */
const unbase64url = (text) => Uint8Array.from(atob(text.replaceAll('-', '+').replaceAll('_', '/')), (c) => c.charCodeAt(0));
