// @ts-check
// The phone: the core and the store under one roof. A line is on disk before
// the core counts it; the core is a cache of the store and can be made again
// from it at any moment.

import { Op, Refused, Trapped, compile } from './core.js';
import { Anew, Store, full } from './store.js';
import { sentence } from './anew.js';
import { line, rowLines } from './jsonlines.js';
import { uuid7 } from './ids.js';

/** @typedef {import('./store.js').Ref} Ref */
/** @typedef {{log: string, kind: string, body: any, strikes?: [string, number][], sure?: boolean}} Line */

/** What a session op answers: frames to send, rows to keep.
 * @typedef {object} Session
 * @property {{bytes: Uint8Array, batch: boolean}[]} frames
 * @property {import('./store.js').Batch[]} batches
 * @property {(Ref & {to: number})[]} kept own lines that are the shop's now: of a writer in a logbook from seq to seq
 * @property {(Ref & {why: string})[]} aside
 * @property {Record<string, Uint8Array | string>} facts
 * @property {string[]} rewound logbooks that the shop no longer has as this phone does, and has back
 * @property {string[]} taken shelves that the shop has back
 * @property {string} [forget] a logbook of which lines were erased
 * @property {boolean} [unshelve] what stands on shelves is in the copies again
 * @property {number} [epoch] the shop's, with its welcome, rewound and taken
 * @property {{log: string, shelf: string, from: number}} [bring] the lines that the shop lost are to go back to it
 * @property {Ref[]} resend from which seq the shop wants a writer's lines
 * @property {Ref[]} forked own lines that the shop has otherwise: they wait for the new writer
 * @property {boolean} [newWriter] the outbox is to be written again under a new writer
 * @property {boolean} [contact]
 * @property {boolean} [caught] everything of the shop is here
 * @property {string} [closed] why the socket must go
 * @property {string} [later] why the shop takes some lines later
 * @property {number} retry ms */

/** The core leaves out what is empty or false. */
const NOTHING = { frames: [], store: [], kept: [], aside: [], cursors: [], rewound: [], taken: [], resend: [], forked: [], retry: 0 };

const SMALL_ROWS = 32; // more rows than this in one logbook are joined at the next start

const FULL = 'This phone is full: the line is not stored. Delete something on it, then tap again.';
const FULL_IN = 'This phone is full: what others write does not arrive. Delete something on it.';

const DAY = 86_400_000; // ms
const NEVER = 2 ** 53; // as the core says it
const DRAWS = 100; // ms after the page drew, before the rest takes a core
const SLICE = 4; // ms that the core works at a stretch on what nobody waits for
const ARRIVES = 30_000; // ms that a line may take to the shop
const MEET = 10_000; // ms that a first line for the shop waits for the shop

export const clocks = () => ({ wall: Date.now(), mono: Math.floor(performance.now()) });

/** A promise with its ends outside. */
function promised() {
  /** @type {(value: unknown) => void} */
  let resolve = () => {};
  const promise = new Promise((r) => (resolve = r));
  return { promise, resolve };
}

const channel = new MessageChannel();
/** Lets messages in between two long calls; a timer would wait 4 ms each time.
 * @returns {Promise<void>} */
function breath() {
  return new Promise((resolve) => {
    channel.port1.addEventListener('message', () => resolve(), { once: true });
    channel.port1.start();
    channel.port2.postMessage(null);
  });
}

/** How a row is known again. One that was joined out of several is longer.
 * @param {import('./store.js').Row} row */
const nameOf = ({ last, bytes }) => `${last} ${bytes.length}`;

/** The rows that tell only of the air before a moment, and until when; the newest
 * air of the place is none of them.
 * @param {number} since @param {import('./store.js').Row[]} rows @param {Record<string, number>} quiet */
function before(since, rows, quiet) {
  const untils = rows.map((row) => quiet[nameOf(row)] ?? 0);
  const newest = Math.max(...untils);
  const old = (/** @type {number} */ until) => until > 0 && until < Math.min(since, newest - DAY);
  return { rows: rows.filter((_, i) => old(untils[i])), until: Math.max(0, ...untils.filter(old)) };
}

export class Phone {
  constructor() {
    this.store = new Store();
    this.life = crypto.getRandomValues(new Uint32Array(1))[0];
    this.writer = '';
    this.me = '';
    /** What this phone is to the shop: 'lead', 'crew', '' if it never said. */
    this.role = '';
    this.online = false;
    /** Until when a lead's acts count from this phone, by both clocks: one of
     * them may stand still while the phone sleeps, the other is set by hand. */
    this.pin = { wall: 0, mono: 0 };
    /** Lines that are only on this phone. */
    this.waiting = 0;
    /** Whether the person was told that nothing fits on this phone any more. */
    this.filledUp = false;
    /** Only the tab that owns the socket keeps the clock: the others know less. */
    this.keepsClock = false;
    /** @type {(what: any) => void} tells the other tabs */
    this.tell = () => {};
    /** @type {() => void} something that a view may show has changed */
    this.changed = () => {};
    /** @type {(text: string) => void} a sentence that the person must see */
    this.fault = () => {};
    /** @type {() => void} the core was made anew: its session is gone */
    this.renewed = () => {};
    /** @type {Set<string>} logbooks that the store had lines of at the start */
    this.logs = new Set();
    /** @type {Set<string>} of these, the ones in the fold */
    this.loaded = new Set();
    /** @type {Map<string, {rows: import('./store.js').Row[], until: number}>} and what of them
     * is not, since the job on screen needs no air that old */
    this.left = new Map();
    /** The shop's own logbook; the shop names it, so a phone learns it there. */
    this.shop = '';
    this.met = promised();
    this.complete = false;
    /** When the page was given something to draw, or went on with it. */
    this.draws = -Infinity;
    this.first = promised();
    this.filled = promised();
    /** @type {Promise<unknown>} writes go one after the other */
    this.last = Promise.resolve();
    /** @type {Promise<unknown>} lines on their way to the disk */
    this.storing = Promise.resolve();
    /** @type {Promise<unknown>} what the core does ahead of being asked */
    this.settled = Promise.resolve();
    /** The core as the page has compiled it, if it has.
     * @type {Promise<WebAssembly.Module | undefined>} */
    this.given = Promise.resolve(undefined);
    /** @type {ReturnType<typeof compile> | undefined} makes instances of the core */
    this.compiled = undefined;
    /** @type {Promise<import('./core.js').Core> | undefined} the next instance */
    this.next = undefined;
    /** @type {Promise<void> | undefined} the core is being made again */
    this.making = undefined;
    /** What was only on this phone, as its page remembers it.
     * @type {Promise<{born?: string, lines: number, photos: number}>} */
    this.remembered = Promise.resolve({ lines: 0, photos: 0 });
    /** @type {number[]} when it was made again, in the last minute */
    this.remakes = [];
    this.store.anew = () => this.again('the store is another one');
  }

  /** The next instance of the core. Whoever will need it asks early: it gets
   * ready while the store is read. */
  coming() {
    this.compiled ??= compile('/app/core.wasm', this.given);
    this.next ??= this.compiled.then((make) => make());
    this.next.catch(() => (this.compiled = this.next = undefined)); // the one who waits for it says so
    return this.next;
  }

  /** Reads the few facts that the rest stands on. */
  async open() {
    this.coming();
    const few = () => this.store.several(['writer', 'me', 'member role', 'whole']);
    const [writer, me, role, whole] = await few().catch((error) => {
      if (error instanceof Anew) return few();
      throw error;
    });
    this.writer = writer ?? (await this.store.once('writer', uuid7));
    this.me = me ?? '';
    this.role ||= role ?? '';
    if (!whole) await this.restore();
  }

  /** A database that was just made: what the journal has goes into it, and if
   * the page remembers another one the person is told. */
  async restore() {
    const rows = await this.store.journal.all();
    await this.store.replace([], rows, { whole: true });
    const was = await this.remembered;
    if (!was.born || was.born === this.store.born) return;
    const saved = { lines: await this.store.outboxSize(), photos: await this.store.photosLeft() };
    this.fault(sentence(was, saved));
  }

  /**
   * Makes the core and fills it from the store: what the job on screen hangs
   * on, then the rest in slices, so that taps get in between.
   * @param {string} job the job on screen, or ''
   */
  async start(job) {
    const { clock, outbox, logs, rows, hung, places } = await this.store.beginning(`j:${job}`);
    const core = await this.coming();
    this.next = undefined;
    this.complete = false;
    this.loaded.clear();
    this.left.clear();
    this.logs = new Set(logs.keys());
    for (const log of this.logs) this.learn(log);
    this.core = core;
    this.call(Op.start, { writer: this.writer, device: this.writer, life: this.life, ...(clock ? { clock } : {}), ...clocks() });
    this.waiting = outbox.length;
    // Shop and the job on screen make it tappable.
    this.call(Op.load, { lines: outbox.map((row) => row.bytes), rows });
    for (const log of this.logs) if (log.startsWith('s:') || log === `j:${job}`) this.loaded.add(log);
    this.first.resolve(undefined);
    await breath();
    const quiet = { ...hung?.quiet };
    /** Each row is folded at once: nobody waits for more than one, and what comes
     * last waits for a line that is being stored.
     * @param {string[]} logs @param {number} [since] what tells of the air before it alone is left for later */
    const read = async (logs, since = -Infinity) => {
      for (const log of logs) {
        if (!this.logs.has(log) || (this.loaded.has(log) && !this.left.has(log))) continue;
        const rows = this.left.get(log)?.rows ?? places.get(log) ?? (await this.store.rowsOf(log));
        const known = (quiet[log] ??= {}), now = (quiet[log] = /** @type {Record<string, number>} */ ({}));
        const past = before(since, rows, known);
        if (past.until) this.left.set(log, past);
        else this.left.delete(log);
        for (const row of rows) {
          const name = nameOf(row);
          if (past.rows.includes(row)) {
            now[name] = known[name];
            continue;
          }
          if (since === -Infinity) {
            await this.storing;
            await this.drawn();
          }
          this.call(Op.load, { rows: [row.bytes] });
          await this.settle();
          const until = this.hangsOn(job).quiet;
          if (until) now[name] = until;
          await breath();
        }
        this.loaded.add(log);
      }
    };
    await this.settle();
    // The air of its places lets its gates be told. The next start reads it along.
    const hangs = this.hangsOn(job);
    await read(hangs.places, hangs.since);
    this.changed();
    const hang = { job: `j:${job}`, logs: hangs.places, quiet: { ...quiet } };
    if (job && JSON.stringify(hang) !== JSON.stringify(hung)) this.store.keep('meta', 'hangs', hang, false).catch(() => {});
    await read([...this.logs].sort((a, b) => Number(b.startsWith('p:')) - Number(a.startsWith('p:'))));
    this.complete = true;
    this.changed();
    this.filled.resolve(undefined);
    return logs;
  }

  /** Lets the page draw what it was given last, before the rest takes a core. */
  async drawn() {
    for (let left; (left = this.draws + DRAWS - performance.now()) > 0; ) await new Promise((resolve) => setTimeout(resolve, left));
  }

  /** What a job's gates hang on, by all that the core was given: places, by their
   * logbooks, and since when their air counts. Of the row that it was given last,
   * until when it tells of the air, if of nothing else.
   * @param {string} job @returns {{places: string[], since: number, quiet: number}} */
  hangsOn(job) {
    const [since, until, ...places] = JSON.parse(this.call(Op.hangs, { id: job }).json);
    return { places, since, quiet: until < NEVER ? until : 0 };
  }

  /** Lets the core take in what it was given, and with `lists` answer what lists
   * of jobs show, a little at a time with taps in between. What comes over the
   * socket meanwhile waits until that is painted, or it would never be.
   * @param {'lists'} [name] @param {() => void} [paint] */
  settle(name, paint) {
    const settled = this.settled.then(async () => {
      for (let from = performance.now(); JSON.parse(this.call(Op.settle, { ...(name ? { name } : {}), ...clocks() }).json).left; ) {
        if (performance.now() - from < SLICE) continue;
        await breath();
        from = performance.now();
      }
      paint?.();
    });
    this.settled = settled.catch(() => {});
    return settled;
  }

  /** @param {string} log */
  learn(log) {
    if (!log.startsWith('s:')) return;
    this.shop = log;
    this.met.resolve(undefined);
  }

  /** A logbook as a page names it. A new phone waits a moment for its shop.
   * @param {{class: string, id?: string} | string} log
   * @returns {Promise<string>} */
  async named(log) {
    if (typeof log === 'string') return log;
    if (log.class !== 's') return `${log.class}:${log.id}`;
    if (!this.shop) await Promise.race([this.met.promise, new Promise((resolve) => setTimeout(resolve, MEET))]);
    if (!this.shop) throw new Error('This phone has not met the shop yet. Go where there is signal first.');
    return this.shop;
  }

  /** Whether a job's gates can be told: everything they hang on is loaded. A
   * line that comes meanwhile may move it to another place.
   * @param {string} job */
  carries(job) {
    if (this.complete) return true;
    if (!this.loaded.has(`j:${job}`)) return false;
    const { places, since } = this.hangsOn(job);
    return places.every((log) => (this.loaded.has(log) || !this.logs.has(log)) && (this.left.get(log)?.until ?? -Infinity) < since);
  }

  /** Waits until a line of this logbook can be judged: that takes the shop, and
   * the job itself if it is one.
   * @param {string} log */
  async judges(log) {
    await this.first.promise;
    if (log.startsWith('j:') && this.logs.has(log) && !this.loaded.has(log)) await this.filled.promise;
  }

  /** @param {number} op @param {any} input */
  call(op, input) {
    if (!this.core) throw new Error('The app is still starting.');
    try {
      return this.core.call(op, input);
    } catch (error) {
      if (error instanceof Trapped) this.again(error);
      throw error;
    }
  }

  /** After a trap, or when the store is another one: everything is read again
   * into a new instance. A core that breaks each time is left alone.
   * @param {unknown} why @returns {Promise<void>} */
  again(why) {
    console.error(why);
    if (!this.making) {
      this.core = undefined;
      this.complete = false;
      this.loaded.clear();
      this.making = this.remake().finally(() => {
        this.making = undefined;
        this.renewed();
      });
    }
    return this.making;
  }

  async remake() {
    const now = performance.now();
    this.remakes = this.remakes.filter((at) => at > now - 60_000);
    while (this.remakes.push(now) <= 5) {
      try {
        await this.open();
        await this.start('');
        return;
      } catch (error) {
        console.error(error);
      }
    }
    this.fault('The app cannot read what this phone holds. Close it and open it again.');
  }

  /**
   * Writes lines together: all of them or none.
   * @param {Line[]} lines
   * @returns {Promise<{refs: Ref[], session: Session | undefined}>}
   */
  write(lines) {
    return this.inTurn(async () => {
      try {
        return await this.writeNow(lines);
      } catch (error) {
        if (error instanceof Anew || error instanceof Trapped) {
          await this.again(error); // nothing was written: once more
          return this.writeNow(lines);
        }
        throw full(error) ? new Refused(FULL, false) : error;
      }
    });
  }

  /** What touches the outbox is done one after the other.
   * @template T @param {() => Promise<T>} job @returns {Promise<T>} */
  inTurn(job) {
    const done = this.last.then(job);
    this.last = done.catch(() => {});
    return done;
  }

  /** @param {Line[]} lines @returns {Promise<{refs: Ref[], session: Session | undefined}>} */
  async writeNow(lines) {
    for (const { log } of lines) await this.judges(log);
    const by = this.me;
    const storing = this.store.write(
      this.writer,
      lines.map(({ log, kind, body, strikes = [], sure = false }) => ({
        log,
        make: (seq) => {
          const salt = crypto.getRandomValues(new Uint8Array(16));
          return this.call(Op.write, { log, kind, body, by, shared: this.shared(), strikes, seq, salt, sure, ...clocks() }).blobs[0];
        },
      })),
      () => (this.keepsClock ? { clock: this.clock() } : {}),
    );
    this.storing = storing.catch(() => {});
    const done = await storing;
    this.waiting += done.length;
    const refs = done.map((d) => d.ref);
    this.tell({ wrote: refs });
    let session;
    try {
      session = this.session(Op.send, { lines: done.map((d) => d.bytes) });
    } catch (error) {
      console.error(error); // they are on disk: the new instance has them from there
    }
    this.changed();
    return { refs, session };
  }

  /** An empty outbox, an empty journal. */
  blank() {
    return this.inTurn(async () => this.waiting === 0 && this.store.journal.reset([]));
  }

  /** The journal holds what the outbox holds, and this tab's file all of it. */
  tidy() {
    return this.inTurn(async () => {
      this.store.journal.reset(await this.store.outbox());
      await this.store.journal.sweep();
    });
  }

  clock() {
    return this.call(Op.clock, clocks()).blobs[0];
  }

  /** When the shop was heard last, in its time; 0 if never. */
  contact() {
    return this.core ? JSON.parse(this.call(Op.clock, clocks()).json).contact : 0;
  }

  /** The page may be gone in a moment: the next one knows what time passed. */
  keepClock() {
    this.store.keep('meta', 'clock', this.clock(), false).catch(() => {});
  }

  /** @param {number} op @param {any} input @returns {Session} */
  session(op, input) {
    const { json, blobs } = this.call(op, { ...input, ...clocks() });
    const head = { ...NOTHING, ...JSON.parse(json) };
    let next = 0;
    /** @type {Record<string, Uint8Array>} */
    const facts = {};
    const frames = head.frames.map((/** @type {any} */ f) => ({ batch: f.batch, bytes: blobs[next++] }));
    const batches = head.store.map((/** @type {any} */ b) => ({ ...b, bytes: blobs[next++] }));
    for (const log of head.cursors) facts[`cursor ${log}`] = blobs[next++];
    return { ...head, frames, batches, facts };
  }

  /** Keeps what a session brought, then lets the core count it.
   * @param {Session} s */
  async keep(s) {
    const gone = [...s.kept, ...s.aside.map((a) => ({ ...a, to: a.seq }))];
    const count = gone.reduce((n, run) => n + run.to - run.seq + 1, 0);
    if (s.batches.length === 0 && gone.length === 0 && Object.keys(s.facts).length === 0 && !s.contact) return;
    for (const a of s.aside) {
      s.facts[`aside ${a.log} ${a.writer} ${a.seq}`] = a.why;
      this.fault(`The shop set a line aside for the lead: ${a.why}`);
    }
    if (s.forget) s.facts[`forget ${s.forget}`] = /** @type {any} */ (true); // on disk with the line, and done after it
    const clock = this.clock();
    await this.store.receive(s.batches, gone, { ...s.facts, clock }).catch((error) => {
      if (full(error) && !this.filledUp) this.fault(FULL_IN);
      this.filledUp ||= full(error);
      throw error;
    });
    this.filledUp = false;
    for (const b of s.batches) this.learn(b.log);
    if (s.batches.length > 0) {
      await this.settled;
      this.call(Op.load, { rows: s.batches.map((b) => b.bytes) });
      await this.settle();
    }
    this.waiting = Math.max(0, this.waiting - count);
    if (count > 0) this.blank();
    this.tell({ stored: s.batches.map((b) => [b.log, b.first]), gone: count, clock });
    this.changed();
    if (s.forget) await this.forget();
  }

  /** Erases what lines that came here name as erased, photos too. What is left is
   * folded anew. */
  async forget() {
    const names = Object.keys(await this.store.facts('forget '));
    if (names.length === 0) return;
    await this.inTurn(async () => {
      for (const name of names) {
        const photos = await this.store.forget(name.slice('forget '.length), (rows) => {
          const { json, blobs } = this.call(Op.forget, { rows });
          const { photos, store } = JSON.parse(json);
          return { photos, rows: store.map((/** @type {any} */ row, /** @type {number} */ i) => ({ ...row, bytes: blobs[i] })) };
        });
        // The browser's own copy of what was looked at gives way to the shop's answer.
        for (const sha of photos) fetch(`/photos/${sha}`, { cache: 'reload' }).catch(() => {});
      }
      await this.start('');
    });
    this.tell({ anew: true });
    this.renewed();
  }

  /** What another tab wrote or received.
   * @param {any} what @returns {Promise<Session | undefined>} */
  async heard(what) {
    if (what.me !== undefined) {
      this.me = what.me;
      this.pin = { wall: 0, mono: 0 };
    }
    if (what.anew) {
      await this.inTurn(async () => {
        await this.open(); // the writer may be another one
        await this.start('');
      });
      this.renewed();
    }
    if (what.clock) this.call(Op.clock, { clock: what.clock, ...clocks() });
    if (what.stored?.length) {
      for (const [log] of what.stored) this.learn(log);
      const { batches } = await this.store.rows(what.stored, []);
      let rows = batches.map(([, bytes]) => bytes);
      if (rows.length < what.stored.length) {
        // Rows were joined meanwhile: read these logbooks whole.
        const logs = new Set(what.stored.map((/** @type {any} */ key) => key[0]));
        rows = (await Promise.all([...logs].map((log) => this.store.batches(log)))).flat();
      }
      await this.settled;
      this.call(Op.load, { rows });
      await this.settle();
    }
    let session;
    if (what.wrote) {
      const { lines } = await this.store.rows([], what.wrote);
      session = this.session(Op.send, { lines });
    }
    if (what.wrote || what.gone) this.waiting = await this.store.outboxSize();
    if (what.gone) this.blank();
    this.changed();
    return session;
  }

  /** @param {string} name @param {string} id @returns {string} JSON, '' if there is no such thing */
  view(name, id) {
    return this.call(Op.view, { name, id, by: this.me, shared: this.shared(), ...clocks() }).json;
  }

  /** The shop says what this phone is; without it the last word holds.
   * @param {string} role */
  is(role) {
    if (role === this.role || !['lead', 'crew'].includes(role)) return;
    this.role = role;
    this.store.keep('meta', 'member role', role, false).catch(console.error);
  }

  /** Whether a lead's rights do not count from here now. */
  shared() {
    return this.role === 'crew' && !(this.online && Date.now() < this.pin.wall && performance.now() < this.pin.mono);
  }

  /** The server took a lead's PIN. A line has to arrive while it holds, so this
   * phone stops sooner. @param {number} lasts ms */
  opened(lasts) {
    const left = lasts - ARRIVES;
    this.pin = { wall: Date.now() + left, mono: performance.now() + left };
    setTimeout(() => this.changed(), left + 1);
    this.changed();
  }

  /** @param {string} person */
  async setMe(person) {
    if (person !== this.me) this.pin = { wall: 0, mono: 0 };
    this.me = person;
    await this.store.keep('meta', 'me', person, false);
    this.tell({ me: person });
    this.changed();
  }

  /** The shop's store has lost these logbooks as they were, and has back what
   * this phone had of them: own lines go to the outbox too, the copies on a
   * shelf until all of it has come anew.
   * @param {string[]} logs @param {number | undefined} epoch the shop's */
  async rewind(logs, epoch) {
    await this.inTurn(async () => {
      for (const log of logs) {
        const { rows, cursor, own } = await this.parted(log, this.writer);
        await this.store.replace([], own, { [`cursor ${log}`]: undefined, [`shelf ${log} ${Date.now()}`]: { cursor, rows, taken: epoch } }, log);
      }
      this.tell({ anew: true });
      await this.start('');
    });
    this.tidy();
    this.renewed();
  }

  /** A logbook's copy: its rows, how far it has come, the own lines that wait
   * again, and the rows up to there. @param {string} log @param {string} [writer] whose lines wait all
   * @returns {Promise<{rows: Uint8Array[], cursor: Uint8Array, own: (Ref & {bytes: Uint8Array})[], left: import('./store.js').Batch[]}>} */
  async parted(log, writer) {
    const rows = await this.store.batches(log);
    const cursor = (await this.store.fact(`cursor ${log}`)) ?? new Uint8Array();
    const { json, blobs } = this.call(Op.unkeep, { rows, bytes: cursor, ...(writer && { writer }) });
    const { own, store } = JSON.parse(json);
    return {
      rows,
      cursor,
      own: own.map((/** @type {Ref} */ ref, /** @type {number} */ i) => ({ ...ref, bytes: blobs[i] })),
      left: store.map((/** @type {any} */ row, /** @type {number} */ i) => ({ ...row, log, bytes: blobs[own.length + i] })),
    };
  }

  /** Whether the shop's store is another one than at the last welcome.
   * @param {number} epoch the shop's */
  async another(epoch) {
    const before = await this.store.fact('epoch');
    if (before === epoch) return false;
    if (before !== undefined) await this.unkeep();
    await this.store.keep('meta', 'epoch', epoch, true);
    return before !== undefined;
  }

  /** Own lines that were kept and lie beyond the copies wait again: a shop with
   * another store may have other lines in their places. */
  async unkeep() {
    await this.inTurn(async () => {
      let any = false;
      for (const log of (await this.store.logs()).keys()) {
        const { own, left } = await this.parted(log);
        if (own.length === 0) continue;
        await this.store.replace([], own, {}, log, left);
        any = true;
      }
      if (!any) return;
      this.tell({ anew: true });
      await this.start('');
      this.renewed();
    });
    this.tidy();
  }

  /** Copies that were put aside: logbook, cursor, name, and the epoch in which
   * the shop had all of it.
   * @returns {Promise<[string, Uint8Array, string, number][]>} */
  async shelves() {
    const shelves = Object.entries(await this.store.facts('shelf ')).filter(([, shelf]) => shelf.cursor);
    return shelves.map(([name, { cursor, taken }]) => [name.split(' ')[1], cursor, name, taken]);
  }

  /** @param {{log: string, shelf: string}} run @returns {Promise<Uint8Array[]>} all rows of a copy */
  async copyOf({ log, shelf }) {
    return shelf ? ((await this.store.fact(shelf))?.rows ?? []) : this.store.batches(log);
  }

  /** The shop has these shelves, too, in its new epoch.
   * @param {string[]} names @param {number | undefined} epoch */
  async taken(names, epoch) {
    for (const name of names) await this.store.keep('meta', name, { ...(await this.store.fact(name)), taken: epoch }, true);
  }

  /** What stands on shelves is in the copies in use again. */
  async unshelve() {
    for (const [, , name] of await this.shelves()) await this.store.keep('meta', name, undefined, true);
  }

  /** @param {string} log @param {string} writer @param {number} from a seq
   * @returns {Promise<Uint8Array[]>} lines to send again, kept or not */
  async pick(log, writer, from) {
    const rows = await this.store.batches(log);
    const lines = (await this.store.outbox()).filter((row) => row.log === log).map((row) => row.bytes);
    return this.call(Op.pick, { log, writer, from, rows, lines }).blobs;
  }

  /** Lines that were kept once and are not the shop's: they wait again.
   * @param {Ref[]} forked */
  async unkept(forked) {
    const here = new Set((await this.store.outbox()).map((r) => `${r.log} ${r.writer} ${r.seq}`));
    for (const r of forked) {
      if (here.has(`${r.log} ${r.writer} ${r.seq}`)) continue;
      const [bytes] = await this.pick(r.log, r.writer, r.seq);
      if (bytes) await this.store.replace([], [{ ...r, bytes }], {});
    }
  }

  /** This writer went on elsewhere (an old store came back, or was copied):
   * every line that was not kept is written again under a new name. */
  async newWriter() {
    await this.inTurn(async () => {
      const writer = uuid7();
      const old = await this.store.outbox();
      const { json, blobs } = this.call(Op.rewrite, { lines: old.map((r) => r.bytes), writer, seqs: [] });
      /** @type {Record<string, any>} */
      const facts = { writer };
      const come = JSON.parse(json).lines.map((/** @type {Ref} */ ref, /** @type {number} */ i) => {
        facts[`seq ${ref.log} ${writer}`] = ref.seq;
        return { ...ref, bytes: blobs[i] };
      });
      await this.store.replace(old, come, facts);
      this.writer = writer;
      this.tell({ anew: true });
      await this.start('');
    });
    this.tidy();
  }

  /** Lines as text that can be carried to the shop: those that are only on
   * this phone, or all that it holds.
   * @param {boolean} all @returns {Promise<string[]>} */
  async export(all) {
    const out = [];
    for (const log of all ? (await this.store.logs()).keys() : []) {
      for (const row of await this.store.batches(log)) out.push(...rowLines(row));
    }
    return [...out, ...(await this.store.outbox()).map((row) => line(row.bytes))];
  }

  /** Joins small rows; called by the tab that owns the socket, after the start.
   * @param {Map<string, number>} logs */
  async compact(logs) {
    for (const [log, rows] of logs) if (rows > SMALL_ROWS) await this.store.compact(log);
  }
}
