// @ts-check
// What this phone keeps, in IndexedDB.
//
//   batches  [log, first order] -> {bytes, last}   lines with receipts, as they came
//   outbox   [log, writer, seq] -> bytes           own lines that the shop has not kept yet
//   meta     name -> value                         writer, clock, seq per logbook, last views
//   photos   sha -> {bytes, job, type, waiting?}   waiting: 1 until the shop has it
//   drafts   name -> value                         what a page must find again after a reload
//
// A log is text: class, colon, UUID. Nothing here reads an entry.
//
// An own line is on disk before anyone paints it: its transaction is strict
// and committed by hand, because a tab that is frozen in the middle of an open
// transaction would hold up every other tab. A lost connection (WebKit drops
// it when the app comes back from the background) is opened again; the put is
// then looked for before it is repeated.

const NAME = 'bayhold';
const VERSION = 1;
const STRICT = /** @type {IDBTransactionOptions} */ ({ durability: 'strict' });
const RELAXED = /** @type {IDBTransactionOptions} */ ({ durability: 'relaxed' });

/** @typedef {{log: string, first: number, last: number, bytes: Uint8Array}} Batch */
/** @typedef {{log: string, writer: string, seq: number}} Ref */
/** @typedef {{sha: string, job: string, type: string, bytes: ArrayBuffer, waiting?: 1, refused?: boolean}} Photo */

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

/** @param {unknown} error whether opening the store again can help */
function lost(error) {
  return error instanceof DOMException && (error.name === 'InvalidStateError' || error.name === 'UnknownError' || /connection/i.test(error.message));
}

/** @param {string} log @returns {IDBKeyRange} */
const all = (log) => IDBKeyRange.bound([log], [log, []]); // an array sorts after every number and text

export class Store {
  constructor() {
    /** @type {Promise<IDBDatabase> | null} */
    this.opening = null;
  }

  /** @returns {Promise<IDBDatabase>} */
  open() {
    this.opening ??= new Promise((resolve, reject) => {
      const request = indexedDB.open(NAME, VERSION);
      request.onupgradeneeded = () => {
        for (const name of ['batches', 'outbox', 'meta', 'photos', 'drafts']) request.result.createObjectStore(name);
        request.transaction?.objectStore('photos').createIndex('waiting', 'waiting');
      };
      request.onerror = () => reject(request.error);
      request.onblocked = () => reject(new DOMException('another tab holds an older store open', 'VersionError'));
      request.onsuccess = () => {
        const db = request.result;
        db.onclose = () => (this.opening = null);
        db.onversionchange = () => {
          db.close();
          this.opening = null;
        };
        resolve(db);
      };
    });
    this.opening.catch(() => (this.opening = null));
    return this.opening;
  }

  /**
   * Runs one job on the database, once more on a new connection if it was lost.
   * @template T @param {(db: IDBDatabase) => Promise<T>} job @returns {Promise<T>}
   */
  async run(job) {
    try {
      return await job(await this.open());
    } catch (error) {
      if (!lost(error)) throw error;
      (await this.opening?.catch(() => null))?.close();
      this.opening = null;
      return job(await this.open());
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
      /** @param {number} i */
      const next = (i) => {
        if (i === lines.length) {
          for (const [name, value] of Object.entries(facts())) meta.put(value, name);
          tx.commit();
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
   * so that a power cut leaves each line in exactly one of the two places.
   * @param {Batch[]} batches @param {(Ref & {to: number})[]} kept runs of seqs @param {Record<string, any>} [facts]
   */
  receive(batches, kept, facts = {}) {
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'outbox', 'meta'], 'readwrite', kept.length ? STRICT : RELAXED);
      const over = complete(tx);
      for (const b of batches) tx.objectStore('batches').put({ bytes: b.bytes, last: b.last }, [b.log, b.first]);
      for (const r of kept) tx.objectStore('outbox').delete(IDBKeyRange.bound([r.log, r.writer, r.seq], [r.log, r.writer, r.to]));
      for (const [name, value] of Object.entries(facts)) tx.objectStore('meta').put(value, name);
      tx.commit();
      await over;
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
      /** @type {Map<string, number>} */
      const rows = new Map();
      for (const key of batches) rows.set(/** @type {any} */ (key)[0], (rows.get(/** @type {any} */ (key)[0]) ?? 0) + 1);
      for (const key of outbox) if (!rows.has(/** @type {any} */ (key)[0])) rows.set(/** @type {any} */ (key)[0], 0);
      return rows;
    });
  }

  /** @param {string} log @returns {Promise<Uint8Array[]>} every batch of a logbook, in order */
  batches(log) {
    return this.run(async (db) => {
      const rows = await result(db.transaction('batches').objectStore('batches').getAll(all(log)));
      return rows.map((row) => row.bytes);
    });
  }

  /** @returns {Promise<(Ref & {bytes: Uint8Array})[]>} every line that is only on this phone */
  outbox() {
    return this.run(async (db) => {
      const store = db.transaction('outbox').objectStore('outbox');
      const [keys, rows] = await Promise.all([result(store.getAllKeys()), result(store.getAll())]);
      return keys.map((key, i) => {
        const [log, writer, seq] = /** @type {[string, string, number]} */ (key);
        return { log, writer, seq, bytes: rows[i] };
      });
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

  /** @param {string} name @returns {Promise<any>} */
  fact(name) {
    return this.run((db) => result(db.transaction('meta').objectStore('meta').get(name)));
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
   * @param {string} [log] a logbook whose batches go too */
  replace(gone, come, facts, log) {
    return this.run(async (db) => {
      const tx = db.transaction(['batches', 'outbox', 'meta'], 'readwrite', STRICT);
      const over = complete(tx);
      const outbox = tx.objectStore('outbox');
      for (const r of gone) outbox.delete([r.log, r.writer, r.seq]);
      for (const r of come) outbox.put(r.bytes, [r.log, r.writer, r.seq]);
      if (log !== undefined) tx.objectStore('batches').delete(all(log));
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

  /** @returns {Promise<Photo[]>} photos that the shop does not hold yet */
  photosWaiting() {
    return this.run((db) => result(db.transaction('photos').objectStore('photos').index('waiting').getAll()));
  }
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
