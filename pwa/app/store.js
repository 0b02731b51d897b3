// @ts-check
// What this phone keeps, in IndexedDB.
//
//   batches  [log, first order] -> {bytes, last}   lines with receipts, as they came
//   outbox   [log, writer, seq] -> bytes           own lines that the shop has not kept yet
//   meta     name -> value                         writer, clock, seq per logbook, last views
//   photos   sha -> {bytes, job, type, waiting?}   spoken notes too; waiting: 1 until the shop has it
//   drafts   name -> value                         what a page must find again after a reload
//
// The lines of the outbox stand in the journal too (journal.js). A log is text: class, colon, UUID. Nothing here reads an entry.
//
// An own line is on disk before anyone paints it: its transaction is strict
// and committed by hand, because a tab that is frozen in the middle of an open
// transaction would hold up every other tab. A lost connection (WebKit drops
// it when the app comes back from the background) is opened again; the put is
// then looked for before it is repeated.
//
// A database that does not open, or fails again on a new connection, is broken
// for good (Chromium's 'backing store' errors come back at every start): it is
// made anew with what can still be read of it, and what was running ends with
// Anew. Each database has a birth mark, so that a tab notices when it was made
// anew by another tab, or by the browser itself.

import { Journal } from './journal.js';
import { uuid7 } from './ids.js';

const NAME = 'bayhold';
const VERSION = 1;
const STRICT = /** @type {IDBTransactionOptions} */ ({ durability: 'strict' });
const RELAXED = /** @type {IDBTransactionOptions} */ ({ durability: 'relaxed' });

/** @typedef {{log: string, first: number, last: number, bytes: Uint8Array}} Batch */
/** @typedef {{bytes: Uint8Array, last: number}} Row */
/** @typedef {{log: string, writer: string, seq: number}} Ref */
/** What a start finds out and the next one knows ahead: the places that a job hung
 * on, and of rows that tell of the air alone until when they do, by logbook and row.
 * @typedef {{job: string, logs: string[], quiet?: Record<string, Record<string, number>>}} Hung */
/** @typedef {{sha: string, job: string, type: string, bytes: ArrayBuffer, waiting?: 1, refused?: string}} Photo */

/**
 * @template T @param {IDBRequest<T>} request @returns {Promise<T>}
 */
function result(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @param {IDBTransaction} tx @returns {Promise<void>} */
function complete(tx) {
  return new Promise((resolve, reject) => {
    tx.oncomplete = () => resolve();
    tx.onabort = () => reject(tx.error ?? new DOMException('aborted', 'AbortError'));
  });
}

/** The store is another one than before: everything that was read of it is void. */
export class Anew extends Error {
  constructor() {
    super('This phone had to make its store anew. Tap again.');
  }
}

/** @param {any} error whether a new connection can help */
const lost = (error) => error instanceof DOMException &&
  (['InvalidStateError', 'UnknownError', 'AbortError'].includes(error.name) || /connection/i.test(error.message));

/** @param {any} error whether the database itself is broken, however often it is opened */
const broken = (error) => error instanceof DOMException && !/connection|server lost|full disk/i.test(error.message) &&
  (['UnknownError', 'NotReadableError', 'DataError'].includes(error.name) || /backing store|corrupt/i.test(error.message));

/** @param {any} error whether there is no room on this phone */
export const full = (error) => error?.name === 'QuotaExceededError' || /full disk|no space/i.test(error?.message ?? '');

/** Waits before each try to open, ms. */
const TRIES = [0, 100, 400, 1600];

/** @param {string} log @returns {IDBKeyRange} */
const all = (log) => IDBKeyRange.bound([log], [log, []]); // an array sorts after every number and text

export class Store {
  constructor() {
    /** @type {Promise<IDBDatabase> | null} */
    this.opening = null;
    /** @type {string | undefined} the birth mark of the database that this tab works on */
    this.born = undefined;
    this.journal = new Journal();
    /** @type {() => void} the database is another one: read everything again */
    this.anew = () => {};
    /** @type {IDBDatabase | undefined} the connection in use */
    this.db = undefined;
    /** @type {Promise<void> | undefined} a new database is being made */
    this.birth = undefined;
  }

  /** @returns {Promise<IDBDatabase>}
   * @throws {Anew} once, if it is another database than this tab knew */
  open() {
    this.opening ??= this.begin();
    this.opening.catch(() => (this.opening = null));
    return this.opening;
  }

  async begin() {
    const db = await this.tries();
    const born = (await result(db.transaction('meta').objectStore('meta').get('born'))) ?? 'before birth marks';
    const another = this.born !== undefined && this.born !== born;
    this.born = born;
    if (!another) return db;
    db.close();
    this.anew();
    throw new Anew();
  }

  /** Opens, waits and opens again, and at last makes a broken one anew. */
  async tries() {
    const born = this.born;
    for (const [n, wait] of TRIES.entries()) {
      if (wait > 0) await new Promise((resolve) => setTimeout(resolve, wait));
      try {
        return await this.connect();
      } catch (error) {
        if (n === TRIES.length - 1) throw error;
        if (n === TRIES.length - 2 && broken(error) && this.born === born) await this.destroy();
      }
    }
    throw new Error('unreachable');
  }

  /** @returns {Promise<IDBDatabase>} */
  connect() {
    return new Promise((resolve, reject) => {
      const request = indexedDB.open(NAME, VERSION);
      request.onupgradeneeded = () => {
        const { result: db, transaction: tx } = request;
        for (const name of ['batches', 'outbox', 'meta', 'photos', 'drafts']) db.createObjectStore(name);
        tx?.objectStore('photos').createIndex('waiting', 'waiting');
        tx?.objectStore('meta').put(uuid7(), 'born');
      };
      request.onerror = () => reject(request.error);
      request.onblocked = () => reject(new DOMException('another tab holds an older store open', 'VersionError'));
      request.onsuccess = () => {
        const db = request.result;
        const over = () => {
          db.close();
          if (this.db === db) this.opening = null;
        };
        db.onclose = db.onversionchange = over;
        this.db = db;
        resolve(db);
      };
    });
  }

  /** @returns {Promise<void>} */
  destroy() {
    return new Promise((resolve, reject) => {
      const request = indexedDB.deleteDatabase(NAME);
      request.onsuccess = () => resolve();
      request.onerror = () => reject(request.error);
      request.onblocked = () => setTimeout(() => reject(new DOMException('another tab holds the store', 'VersionError')), 5000);
    });
  }

  /**
   * Runs one job on the database: once more on a new connection if it was
   * lost, once more with room made if it is full. A database that fails on a
   * new connection too is made anew.
   * @template T @param {(db: IDBDatabase) => Promise<T>} job @returns {Promise<T>}
   */
  async run(job) {
    /** @type {IDBDatabase | undefined} */
    let db;
    const born = this.born;
    for (let again = false; ; again = true) {
      try {
        db = await this.open();
        return await job(db);
      } catch (error) {
        if (again && broken(error)) break;
        if (again || !(lost(error) || (full(error) && (await this.makeRoom())))) throw error;
        if (lost(error)) this.hangUp(db);
      }
    }
    if (this.born === born) await (this.birth ??= this.makeAnew().finally(() => (this.birth = undefined)));
    throw new Anew();
  }

  /** @param {IDBDatabase | undefined} db unless another job has opened a new one meanwhile */
  hangUp(db) {
    if (this.db !== db) return;
    db?.close();
    this.opening = null;
  }

  /** A new database with what the broken one still gives. */
  async makeAnew() {
    console.error('the database is broken; making a new one');
    /** @type {[string, IDBValidKey, any][]} */
    const saved = [];
    for (const name of ['outbox', 'photos', 'drafts', 'meta']) {
      try {
        const store = (await this.open()).transaction(name).objectStore(name);
        const some = name === 'meta' ? IDBKeyRange.bound('member ', 'member!') : null; // it belongs to the shop as before
        const [keys, rows] = await Promise.all([result(store.getAllKeys(some)), result(store.getAll(some))]);
        keys.forEach((key, i) => saved.push([name, key, rows[i]]));
      } catch {
        // The journal has the lines; a photo that cannot be read is gone.
      }
    }
    this.hangUp(this.db);
    await this.destroy();
    const db = await this.connect();
    const tx = db.transaction(['outbox', 'photos', 'drafts', 'meta'], 'readwrite', STRICT);
    for (const [name, key, row] of saved) tx.objectStore(name).put(row, key);
    tx.commit();
    await complete(tx);
    db.close();
    await this.begin().catch(() => {}); // takes its birth mark
  }

  /** Photos give way to lines: those that the shop has are dropped, and the
   * painted views, which the core can make again.
   * @returns {Promise<boolean>} whether there was anything */
  async makeRoom() {
    try {
      const tx = (await this.open()).transaction(['photos', 'meta'], 'readwrite', RELAXED);
      const over = complete(tx);
      const photos = tx.objectStore('photos'), views = tx.objectStore('meta');
      const range = IDBKeyRange.bound('view ', 'view \uffff');
      const [all, waiting, stale] = await Promise.all([result(photos.getAllKeys()), result(photos.index('waiting').getAllKeys()), result(views.count(range))]);
      const only = new Set(waiting);
      const sent = all.filter((sha) => !only.has(sha));
      for (const key of sent) photos.delete(key);
      views.delete(range);
      tx.commit();
      await over;
      return sent.length + stale > 0;
    } catch {
      return false;
    }
  }

  /**
   * The heart of a tap: reads each line's seq, has the line made with it, and
   * puts it, all in one strict transaction. make runs synchronously and may
   * throw: then nothing is written.
   * @param {string} writer
   * @param {{log: string, make: (seq: number) => Uint8Array}[]} lines
   * @param {() => Record<string, any>} facts what goes to disk with the lines
   * @returns {Promise<{ref: Ref, bytes: Uint8Array}[]>}
   */
  write(writer, lines, facts) {
    /** @type {{ref: Ref, bytes: Uint8Array}[]} */
    let done = [];
    return this.run(async (db) => {
      if (done.length > 0 && (await this.holds(db, done[0]))) return done;
      done = [];
      const tx = db.transaction(['outbox', 'meta'], 'readwrite', STRICT);
      const over = complete(tx);
      /** @type {unknown} */
      let thrown;
      const meta = tx.objectStore('meta');
      let end = -1;
      meta.get('writer').onsuccess = (event) => {
        if (/** @type {IDBRequest} */ (event.target).result === writer) return;
        thrown = new Anew(); // another tab took a new writer
        tx.abort();
      };
      /** @param {number} i */
      const next = (i) => {
        if (i === lines.length) {
          for (const [name, value] of Object.entries(facts())) meta.put(value, name);
          tx.commit();
          end = this.journal.add(done.map(({ ref, bytes }) => ({ ...ref, bytes }))); // while the database syncs
          return;
        }
        const { log, make } = lines[i];
        const name = `seq ${log} ${writer}`;
        meta.get(name).onsuccess = (event) => {
          const seq = (/** @type {IDBRequest} */ (event.target).result ?? 0) + 1;
          try {
            const bytes = make(seq);
            tx.objectStore('outbox').put(bytes, [log, writer, seq]);
            meta.put(seq, name);
            done.push({ ref: { log, writer, seq }, bytes });
            next(i + 1);
          } catch (error) {
            thrown = error;
            tx.abort();
          }
        };
      };
      next(0);
      try {
        await over;
      } catch (error) {
        if (end >= 0) this.journal.back(end);
        throw thrown ?? error;
      }
      return done;
    });
  }

  /** Whether a line is stored already: its transaction may have completed while
   * the connection was lost.
   * @param {IDBDatabase} db @param {{ref: Ref, bytes: Uint8Array}} line */
  async holds(db, { ref, bytes }) {
    const have = await result(db.transaction('outbox').objectStore('outbox').get([ref.log, ref.writer, ref.seq]));
    return have instanceof Uint8Array && have.length === bytes.length && have.every((b, i) => b === bytes[i]);
  }

  /**
   * Lines that came, and own lines that the shop has kept: in and out together,
   * so that a power cut leaves each line in exactly one of the two places. No
   * wait for the disk, since the shop has all of it: a phone that loses this
   * asks and sends once more, and a tap need not stand behind it.
   * @param {Batch[]} batches @param {(Ref & {to: number})[]} kept runs of seqs @param {Record<string, any>} [facts]
   */
  receive(batches, kept, facts = {}) {
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'outbox', 'meta'], 'readwrite', RELAXED);
      const over = complete(tx);
      for (const b of batches) tx.objectStore('batches').put({ bytes: b.bytes, last: b.last }, [b.log, b.first]);
      for (const r of kept) tx.objectStore('outbox').delete(IDBKeyRange.bound([r.log, r.writer, r.seq], [r.log, r.writer, r.to]));
      for (const [name, value] of Object.entries(facts)) tx.objectStore('meta').put(value, name);
      tx.commit();
      await over;
    });
  }

  /** What a start reads, at once: the way to the database and back is longer
   * than the reading.
   * @param {string} job the logbook on screen, 'j:' if none
   * @returns {Promise<{clock: Uint8Array | undefined, outbox: (Ref & {bytes: Uint8Array})[], logs: Map<string, number>, rows: Uint8Array[], hung: Hung | undefined, places: Map<string, Row[]>}>}
   * logs as in logs(); rows of the shop's logbook and the job's; what is known of
   * the last start, and the rows of the places that the job hung on then */
  beginning(job) {
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'outbox', 'meta']);
      const batches = tx.objectStore('batches'), out = tx.objectStore('outbox');
      const hung = result(tx.objectStore('meta').get('hangs'));
      const air = hung.then((was) => Promise.all(
        (was?.job === job ? was.logs : []).map(async (/** @type {string} */ log) => /** @type {[string, Row[]]} */ ([log, await result(batches.getAll(all(log)))]))));
      const [clock, keys, own, ownKeys, shop, its, was, places] = await Promise.all([
        result(tx.objectStore('meta').get('clock')),
        result(batches.getAllKeys()),
        result(out.getAll()),
        result(out.getAllKeys()),
        result(batches.getAll(IDBKeyRange.bound(['s:'], ['s;']))),
        result(batches.getAll(all(job))),
        hung,
        air,
      ]);
      return { clock, outbox: ownKeys.map((key, i) => ownRow(key, own[i])), logs: counted(keys, ownKeys), rows: bytesOf([...shop, ...its]), hung: was, places: new Map(places) };
    });
  }

  /** Names of the logbooks that this phone carries lines of.
   * @returns {Promise<Map<string, number>>} log -> number of rows */
  logs() {
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'outbox']);
      const [batches, outbox] = await Promise.all([
        result(tx.objectStore('batches').getAllKeys()),
        result(tx.objectStore('outbox').getAllKeys()),
      ]);
      return counted(batches, outbox);
    });
  }

  /** @param {string} log @returns {Promise<Row[]>} every row of a logbook, in order */
  rowsOf(log) {
    return this.run((db) => result(db.transaction('batches').objectStore('batches').getAll(all(log))));
  }

  /** @param {string} log @returns {Promise<Uint8Array[]>} their bytes */
  async batches(log) {
    return bytesOf(await this.rowsOf(log));
  }

  /** @returns {Promise<(Ref & {bytes: Uint8Array})[]>} every line that is only on this phone */
  outbox() {
    return this.run(async (db) => {
      const store = db.transaction('outbox').objectStore('outbox');
      const [keys, rows] = await Promise.all([result(store.getAllKeys()), result(store.getAll())]);
      return keys.map((key, i) => ownRow(key, rows[i]));
    });
  }

  /** @returns {Promise<number>} */
  outboxSize() {
    return this.run((db) => result(db.transaction('outbox').objectStore('outbox').count()));
  }

  /** @param {[string, number][]} batches @param {Ref[]} lines rows that another tab has stored
   * @returns {Promise<{batches: [string, Uint8Array][], lines: Uint8Array[]}>} */
  rows(batches, lines) {
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'outbox']);
      const b = await Promise.all(batches.map((key) => result(tx.objectStore('batches').get(key))));
      const l = await Promise.all(lines.map((r) => result(tx.objectStore('outbox').get([r.log, r.writer, r.seq]))));
      return {
        batches: batches.flatMap(([log], i) => (b[i] ? [/** @type {[string, Uint8Array]} */ ([log, b[i].bytes])] : [])),
        lines: l.filter((x) => x !== undefined),
      };
    });
  }

  /** Joins a logbook's many small batches into rows of about 64 KiB. Batches are
   * plain sequences of lines, so joining is putting one behind the other.
   * @param {string} log */
  compact(log) {
    return this.run(async (db) => {
      const tx = db.transaction('batches', 'readwrite', RELAXED);
      const over = complete(tx);
      const store = tx.objectStore('batches');
      const [keys, rows] = await Promise.all([result(store.getAllKeys(all(log))), result(store.getAll(all(log)))]);
      /** @type {{first: IDBValidKey, last: number, parts: Uint8Array[], size: number}[]} */
      const groups = [];
      rows.forEach((row, i) => {
        const g = groups.at(-1);
        if (g && g.size < 65536) {
          g.parts.push(row.bytes);
          g.size += row.bytes.length;
          g.last = row.last;
          store.delete(keys[i]);
        } else groups.push({ first: keys[i], last: row.last, parts: [row.bytes], size: row.bytes.length });
      });
      for (const g of groups.filter((g) => g.parts.length > 1)) store.put({ bytes: join(g.parts, g.size), last: g.last }, g.first);
      tx.commit();
      await over;
    });
  }

  /** A logbook's rows give way to those that left makes of them. With them go
   * its photos that left names, its shelves, whose lines are all here by now, and
   * the painted views, which may still say what was erased.
   * @param {string} log @param {(rows: Uint8Array[]) => {rows: Batch[], photos: string[]}} left
   * @returns {Promise<string[]>} the photos */
  forget(log, left) {
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'meta', 'photos'], 'readwrite', STRICT);
      const over = complete(tx);
      const batches = tx.objectStore('batches'), meta = tx.objectStore('meta');
      const out = left((await result(batches.getAll(all(log)))).map((row) => row.bytes));
      batches.delete(all(log));
      for (const { first, last, bytes } of out.rows) batches.put({ bytes, last }, [log, first]);
      for (const sha of out.photos) tx.objectStore('photos').delete(sha);
      for (const some of ['view ', `shelf ${log} `]) meta.delete(IDBKeyRange.bound(some, some + '\uffff'));
      meta.delete(`forget ${log}`);
      tx.commit();
      await over;
      return out.photos;
    });
  }

  /** The copies that this phone has: jobs, and at which orders the rows of a
   * place's end.
   * @returns {Promise<{jobs: string[], places: Record<string, number[]>}>} */
  copies() {
    return this.run(async (db) => {
      const batches = db.transaction('batches').objectStore('batches');
      const [keys, rows] = await Promise.all([result(batches.getAllKeys()), result(batches.getAll(IDBKeyRange.bound(['p:'], ['p;'])))]);
      const jobs = new Set(), places = /** @type {Record<string, number[]>} */ ({});
      let i = 0;
      for (const [log] of /** @type {[string, number][]} */ (keys)) {
        if (log.startsWith('j:')) jobs.add(log.slice(2));
        if (log.startsWith('p:')) (places[log.slice(2)] ??= []).push(rows[i++].last);
      }
      return { jobs: [...jobs], places };
    });
  }

  /** A job leaves this phone with its photos, unless something of it is here
   * alone or on its way.
   * @param {string} job */
  leave(job) {
    const log = `j:${job}`;
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'outbox', 'meta', 'photos'], 'readwrite', STRICT);
      const over = complete(tx);
      const meta = tx.objectStore('meta'), shelf = `shelf ${log} `;
      const [waits, shelves] = await Promise.all([result(tx.objectStore('outbox').count(all(log))), result(meta.count(IDBKeyRange.bound(shelf, shelf + '\uffff')))]);
      /** @type {{sha: string, waiting?: 1}[]} */
      const photos = [];
      await new Promise((resolve, reject) => {
        const cursor = tx.objectStore('photos').openCursor(); // one in memory at a time
        cursor.onerror = () => reject(cursor.error);
        cursor.onsuccess = () => {
          if (!cursor.result) return resolve(undefined);
          const { sha, job: its, waiting } = cursor.result.value;
          if (its === job) photos.push({ sha, waiting });
          cursor.result.continue();
        };
      });
      if (waits + shelves === 0 && photos.every(({ waiting }) => !waiting)) {
        tx.objectStore('batches').delete(all(log));
        for (const name of [`cursor ${log}`, `view job ${job}`]) meta.delete(name);
        for (const { sha } of photos) tx.objectStore('photos').delete(sha);
      }
      tx.commit();
      await over;
    });
  }

  /** A copy begins behind the row that ends with an order; those up to it go.
   * @param {string} log @param {number} order
   * @param {(cursor: Uint8Array) => Uint8Array | null} from the cursor with this beginning; null: it stays */
  beginBehind(log, order, from) {
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'meta'], 'readwrite', STRICT);
      const over = complete(tx);
      const batches = tx.objectStore('batches'), range = IDBKeyRange.bound([log], [log, order]);
      const [cursor, rows] = await Promise.all([result(tx.objectStore('meta').get(`cursor ${log}`)), result(batches.getAll(range))]);
      const anew = cursor && from(cursor);
      if (anew && rows.every((row) => row.last <= order)) { // rows may have been joined since
        batches.delete(range);
        tx.objectStore('meta').put(anew, `cursor ${log}`);
      }
      tx.commit();
      await over;
    });
  }

  /** @param {string} name @returns {Promise<any>} */
  fact(name) {
    return this.run((db) => result(db.transaction('meta').objectStore('meta').get(name)));
  }

  /** Facts by their names, in one go.
   * @param {string[]} names @returns {Promise<any[]>} */
  several(names) {
    return this.run((db) => {
      const meta = db.transaction('meta').objectStore('meta');
      return Promise.all(names.map((name) => result(meta.get(name))));
    });
  }

  /** Every fact whose name begins so.
   * @param {string} prefix @returns {Promise<Record<string, any>>} */
  facts(prefix) {
    return this.run(async (db) => {
      const range = IDBKeyRange.bound(prefix, prefix + '\uffff');
      const meta = db.transaction('meta').objectStore('meta');
      const [names, values] = await Promise.all([result(meta.getAllKeys(range)), result(meta.getAll(range))]);
      return Object.fromEntries(names.map((name, i) => [name, values[i]]));
    });
  }

  /** Own lines that change places: some rows of the outbox go, some come, and
   * facts with them, in one strict transaction.
   * @param {Ref[]} gone @param {(Ref & {bytes: Uint8Array})[]} come
   * @param {Record<string, any>} facts undefined removes one
   * @param {string} [log] a logbook whose batches go too
   * @param {Batch[]} [left] and come in their place */
  replace(gone, come, facts, log, left = []) {
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'outbox', 'meta'], 'readwrite', STRICT);
      const over = complete(tx);
      const outbox = tx.objectStore('outbox');
      for (const r of gone) outbox.delete([r.log, r.writer, r.seq]);
      for (const r of come) outbox.put(r.bytes, [r.log, r.writer, r.seq]);
      if (log !== undefined) tx.objectStore('batches').delete(all(log));
      for (const b of left) tx.objectStore('batches').put({ bytes: b.bytes, last: b.last }, [b.log, b.first]);
      for (const [name, value] of Object.entries(facts)) {
        if (value === undefined) tx.objectStore('meta').delete(name);
        else tx.objectStore('meta').put(value, name);
      }
      tx.commit();
      await over;
    });
  }

  /** A fact that is made once: two tabs that start together agree on it.
   * @param {string} name @param {() => any} make @returns {Promise<any>} */
  once(name, make) {
    return this.run(async (db) => {
      const tx = db.transaction('meta', 'readwrite', STRICT);
      const over = complete(tx);
      let value = await result(tx.objectStore('meta').get(name));
      if (value === undefined) {
        value = make();
        tx.objectStore('meta').put(value, name);
      }
      tx.commit();
      await over;
      return value;
    });
  }

  /** @param {'meta' | 'drafts' | 'photos'} store @param {string} name @param {any} value undefined removes it
   * @param {boolean} strict */
  keep(store, name, value, strict) {
    return this.run(async (db) => {
      const tx = db.transaction(store, 'readwrite', strict ? STRICT : RELAXED);
      const over = complete(tx);
      if (value === undefined) tx.objectStore(store).delete(name);
      else tx.objectStore(store).put(value, name);
      tx.commit();
      await over;
    });
  }

  /** @param {string} name @returns {Promise<any>} */
  draft(name) {
    return this.run((db) => result(db.transaction('drafts').objectStore('drafts').get(name)));
  }

  /** @param {string} sha @returns {Promise<Photo | undefined>} */
  photo(sha) {
    return this.run((db) => result(db.transaction('photos').objectStore('photos').get(sha)));
  }

  /** @returns {Promise<number>} photos that are only on this phone */
  photosLeft() {
    return this.run((db) => result(db.transaction('photos').objectStore('photos').index('waiting').count()));
  }

  /** @returns {Promise<{job: string, type: string}[]>} of each of them */
  photosOf() {
    return this.run((db) => new Promise((resolve, reject) => {
      /** @type {{job: string, type: string}[]} */
      const all = [];
      const cursor = db.transaction('photos').objectStore('photos').index('waiting').openCursor(); // one in memory at a time
      cursor.onerror = () => reject(cursor.error);
      cursor.onsuccess = () => {
        if (!cursor.result) return resolve(all);
        const { job, type } = cursor.result.value;
        all.push({ job, type });
        cursor.result.continue();
      };
    }));
  }

  /** @returns {Promise<string[]>} their names */
  photosWaiting() {
    return this.run(async (db) => /** @type {string[]} */ (await result(db.transaction('photos').objectStore('photos').index('waiting').getAllKeys())));
  }

  /** Every photo waits again, whatever the shop said of it. */
  photosAgain() {
    return this.run(async (db) => {
      const tx = db.transaction('photos', 'readwrite', STRICT);
      const over = complete(tx);
      const photos = tx.objectStore('photos');
      for (const sha of await result(photos.getAllKeys())) {
        photos.get(sha).onsuccess = (event) => {
          const { refused, ...photo } = /** @type {IDBRequest} */ (event.target).result;
          photos.put({ ...photo, waiting: 1 }, sha);
        };
      }
      await over;
    });
  }
}

/** @param {{bytes: Uint8Array}[]} rows */
const bytesOf = (rows) => rows.map((row) => row.bytes);

/** @param {IDBValidKey} key @param {Uint8Array} bytes @returns {Ref & {bytes: Uint8Array}} */
function ownRow(key, bytes) {
  const [log, writer, seq] = /** @type {[string, string, number]} */ (key);
  return { log, writer, seq, bytes };
}

/** @param {IDBValidKey[]} batches @param {IDBValidKey[]} outbox their keys
 * @returns {Map<string, number>} log -> number of rows, 0 if all its lines are own */
function counted(batches, outbox) {
  const rows = new Map();
  for (const key of batches) rows.set(/** @type {any} */ (key)[0], (rows.get(/** @type {any} */ (key)[0]) ?? 0) + 1);
  for (const key of outbox) if (!rows.has(/** @type {any} */ (key)[0])) rows.set(/** @type {any} */ (key)[0], 0);
  return rows;
}

/** @param {Uint8Array[]} parts @param {number} size */
function join(parts, size) {
  const out = new Uint8Array(size);
  let at = 0;
  for (const p of parts) {
    out.set(p, at);
    at += p.length;
  }
  return out;
}
