// @ts-check
// The one connection of this phone to the shop. All tabs have a core; a Web
// Lock decides which of them owns the socket. A tab that becomes visible may
// take it from an owner that does not answer: a frozen tab holds its lock.

import { Op } from './core.js';
import { prove } from './member.js';
import { Socket } from './socket.js';

const LOCK = 'bayhold-socket';
const BEAT = 2000; // ms between ticks of the core, which decides what they mean
const URGENT = 10_000; // ms that a piece of a photo lets lines go first
const ANSWER = 1500; // ms that an owner has to say that it is awake

/** @typedef {import('./phone.js').Phone} Phone */
/** @typedef {import('./phone.js').Session} Session */

export class Link {
  /**
   * @param {Phone} phone
   * @param {(online: boolean) => void} changed
   * @param {() => void} caughtUp the shop is there: photos may go
   * @param {() => Promise<void>} restored the shop's store is another one
   */
  constructor(phone, changed, caughtUp, restored) {
    this.phone = phone;
    this.changed = changed;
    this.caughtUp = caughtUp;
    this.restored = restored;
    this.owner = false;
    this.online = false;
    this.attempt = 0;
    /** @type {Socket | undefined} */
    this.socket = undefined;
    /** @type {Socket | undefined} the one that brought what could not be stored */
    this.failed = undefined;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.again = undefined;
    /** @type {Promise<unknown>} what a session asks for is done in order */
    this.work = Promise.resolve();
    /** Ms that the shop asked this phone to wait. */
    this.wait = 0;
    /** Why the shop takes some lines later, and when they go again.
     * @type {{why: string, at: number} | null} */
    this.later = null;
    /** This tab alone has a session from now on, and has none yet.
     * @type {() => Promise<void>} */
    this.alone = async () => {};
    /** The shop ended the talk with a sentence. @type {() => void} */
    this.ended = () => {};
    /** What this phone is to the shop: lead, crew, off, none; and where the shop
     * is now, if it left this address. @type {(role: string, moved: string) => void} */
    this.stands = () => {};
    this.asked = false;
    this.pong = 0;
    /** Whether somebody looks at this tab. */
    this.visible = false;
    setInterval(() => this.beat(), BEAT);
  }

  /** Called once the core is filled: a socket is of no use before. If another
   * tab has it, this one asks whether that one is awake, and learns from the
   * answer whether the shop is there. */
  begins() {
    this.own(false);
    this.stir(this.visible);
  }

  /** @param {boolean} steal */
  own(steal) {
    this.asked = true;
    if (!navigator.locks) {
      this.begin(); // no locks outside secure contexts: every tab connects
      return;
    }
    let held = true;
    navigator.locks
      .request(LOCK, steal ? { steal: true } : {}, () => {
        const ready = steal ? Promise.resolve() : this.alone().catch(console.error); // the one that it was taken from may not know yet
        ready.then(() => held && this.begin());
        return new Promise(() => {}); // until this tab goes away or the lock is taken
      })
      .catch(() => {
        held = false;
        this.end();
        this.own(false);
      });
  }

  begin() {
    this.owner = true;
    this.phone.keepsClock = true;
    this.changed(this.online); // what this tab believed was the former owner's word
    this.connect();
  }

  end() {
    this.owner = false;
    this.phone.keepsClock = false;
    clearTimeout(this.again);
    this.socket?.drop();
  }

  connect() {
    clearTimeout(this.again);
    if (!this.owner || this.socket) return;
    if (!this.phone.complete) { // the core is being made anew
      this.again = setTimeout(() => this.connect(), BEAT);
      return;
    }
    this.wait = 0;
    const url = `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/ws`;
    const socket = new Socket(url, {
      opened: () => this.queue(() => this.opened(socket)),
      frame: (bytes) => this.queue(() => (this.failed === socket ? undefined : this.session(socket, this.phone.session(Op.frame, { bytes })))),
      said: (message) => this.queue(() => this.said(socket, message)),
      closed: () => this.queue(() => this.closed(socket)),
    });
    this.socket = socket;
  }

  /** Frames are taken one after the other, each stored before the next. When
   * one could not be stored, none of those behind it may be: they would move
   * the cursor past it.
   * @param {() => unknown} job */
  queue(job) {
    this.work = this.work.then(job).catch((error) => {
      console.error(error);
      this.failed = this.socket;
      this.socket?.drop(); // the store says what the phone has; begin again from there
    });
  }

  /** The shop asks who this phone is, and says what it is.
   * @param {Socket} socket @param {any} message */
  async said(socket, { nonce, refused, role, pass, moved }) {
    if (this.socket !== socket) return;
    const proof = nonce && (await prove(this.phone, nonce));
    if (proof) {
      socket.say(proof);
      return this.opened(socket);
    }
    this.stands(role ?? 'none', moved ?? '');
    if (pass) fetch('/pass', { method: 'POST', headers: { Authorization: 'Bearer ' + pass } }).catch(() => {});
    if (nonce || refused) socket.drop();
  }

  /** @param {Socket} socket */
  async opened(socket) {
    if (this.socket !== socket) return;
    const cursors = Object.entries(await this.phone.store.facts('cursor ')).map(([name, bytes]) => [name.slice('cursor '.length), bytes]);
    await this.session(socket, this.phone.session(Op.open, { cursors, shelves: await this.phone.shelves() }));
  }

  /** Stores what came, then sends what is due, then the rest.
   * @param {Socket} socket @param {Session} s */
  async session(socket, s) {
    if (this.socket !== socket) return;
    if (s.epoch && (await this.phone.another(s.epoch))) {
      await this.restored();
      if (socket.over) return; // what waits again was not in the hello
    }
    if (s.rewound.length > 0) await this.phone.rewind(s.rewound, s.epoch);
    if (s.taken.length > 0) await this.phone.taken(s.taken, s.epoch);
    await this.phone.keep(s);
    if (s.unshelve) await this.phone.unshelve();
    for (const f of s.frames) socket.send(f.bytes, f.batch);
    if (s.contact && !this.online) {
      this.online = true;
      this.attempt = 0;
      this.changed(true);
    }
    if (s.caught && this.online) this.caughtUp();
    if (s.bring) {
      const rows = await this.phone.copyOf(s.bring);
      await this.session(socket, this.phone.session(Op.bring, { rows, from: s.bring.from }));
    }
    if (s.forked.length > 0) await this.phone.unkept(s.forked);
    for (const m of s.resend) {
      const lines = await this.phone.pick(m.log, m.writer, m.seq);
      if (lines.length === 0) {
        // Nobody has them any more: the gap can only be closed by going on
        // under another name.
        await this.phone.newWriter();
        socket.drop();
        return;
      }
      await this.session(socket, this.phone.session(Op.send, { lines }));
    }
    if (s.newWriter) {
      await this.phone.newWriter();
      socket.drop();
    }
    if (s.later) this.tellLater({ why: s.later, at: Date.now() + s.retry });
    if (s.closed) {
      console.info(s.closed);
      this.ended();
      this.wait = s.retry;
      socket.drop();
    }
  }

  /** All tabs say so. @param {{why: string, at: number} | null} later */
  tellLater(later) {
    this.later = later;
    this.phone.tell({ later });
    this.phone.changed();
  }

  /** Own lines that are stored; sends them if this tab has the socket.
   * @param {Session | undefined} s */
  sent(s) {
    const socket = this.socket;
    if (socket && s) this.queue(() => this.session(socket, s));
  }

  /** Waits while lines are on their way to the shop; not for ever, because a
   * line may wait for another reason. */
  async clear() {
    const until = performance.now() + URGENT;
    while (this.online && this.phone.waiting > 0 && performance.now() < until) await new Promise((resolve) => setTimeout(resolve, 50));
  }

  /** @param {Socket} socket */
  closed(socket) {
    if (this.socket !== socket) return;
    this.socket = undefined;
    if (this.later) this.tellLater(null); // the next connection asks again
    let wait = BEAT; // if the core cannot say, because it is being made again
    try {
      this.phone.session(Op.shut, {});
      const salt = crypto.getRandomValues(new Uint8Array(8));
      wait = JSON.parse(this.phone.call(Op.backoff, { seq: this.attempt++, salt, wait: this.wait }).json).wait;
    } catch (error) {
      console.error(error);
    }
    if (this.online) {
      this.online = false;
      this.changed(false);
    }
    if (this.owner) this.again = setTimeout(() => this.connect(), wait);
  }

  beat() {
    const socket = this.socket;
    if (socket) this.queue(() => this.session(socket, this.phone.session(Op.tick, {})));
  }

  /** The page came back, or the network did.
   * @param {boolean} visible */
  stir(visible) {
    this.visible = visible;
    if (!visible && this.owner && this.phone.core) this.phone.keepClock();
    const socket = this.socket;
    if (this.owner && socket) this.queue(() => this.session(socket, this.phone.session(Op.probe, {})));
    else if (this.owner) this.connect();
    else if (this.asked && navigator.locks) {
      this.pong = 0;
      this.phone.tell({ ping: true });
      setTimeout(() => {
        if (this.visible && !this.owner && this.pong === 0) this.own(true);
      }, ANSWER);
    }
  }
}
