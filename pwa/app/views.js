// @ts-check
// Views that the page looks at: each is posted when it has changed, and the
// last one is kept, so that the next visit paints before the core is there.

/** @typedef {{name: string, id: string, last: string, posted: number}} Watched */

const EVERY = 60_000; // ms: counts go on and gates open without any line
const LISTS = ['home', 'board']; // of all jobs
const LISTS_AFTER = 150; // ms
const REST = 4; // times as long as lists took, before they are made again
const FRAME = 16; // ms: a burst of lines paints no oftener than a screen does
const KEEP_AFTER = 500; // ms: a burst of lines is kept once

export class Views {
  /** @param {import('./phone.js').Phone} phone @param {(message: any) => void} post */
  constructor(phone, post) {
    this.phone = phone;
    this.post = post;
    /** @type {Map<string, Watched>} */
    this.watched = new Map();
    /** What the worker adds to every view: is the shop there, when it was last,
     * and the lines and photos that are only here. */
    this.net = { online: false, since: 0, waiting: 0, photos: 0, role: '' };
    /** @type {{left: number} | undefined} */
    this.album = undefined;
    this.marked = '';
    /** @type {Map<string, Promise<any>>} what the last visit saw, read before anybody asks */
    this.early = new Map();
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.keeping = undefined;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.later = undefined;
    this.queued = false;
    this.painted = 0;
    this.again = 0; // before then no lists
    setInterval(() => this.all(), EVERY);
  }

  /** The page will ask for these. @param {string} job the one on screen, or '' */
  foresee(job) {
    for (const key of ['view home ', ...(job ? [`view job ${job}`] : [])]) this.early.set(key, this.phone.store.fact(key).catch(() => undefined));
  }

  /** @param {string} name @param {string} id */
  async watch(name, id) {
    const key = `view ${name} ${id}`;
    const watched = this.watched.get(key) ?? { name, id, last: '', posted: 0 };
    this.watched.set(key, watched);
    if (this.ready(watched)) {
      this.listed([watched], () => {
        watched.last = '';
        if (this.watched.get(key) === watched) this.paint(watched);
      });
      return;
    }
    const early = this.early.get(key);
    this.early.delete(key);
    const json = await (early ?? this.phone.store.fact(key));
    if (json && watched.last === '') this.give({ name, id, json, stale: true });
  }

  /** @param {string} name @param {string} id */
  unwatch(name, id) {
    this.watched.delete(`view ${name} ${id}`);
  }

  /** The job on screen, '' if there is none. */
  job() {
    for (const w of this.watched.values()) if (w.name === 'job') return w.id;
    return '';
  }

  /** @param {Watched} w */
  ready(w) {
    return w.name === 'job' ? this.phone.carries(w.id) : this.phone.complete;
  }

  /** Paints what changed, once for all changes of one turn: the job under the
   * thumb now, lists of all jobs when the worker has nothing better to do. */
  soon() {
    if (this.queued) return;
    this.queued = true;
    const paint = () => {
      this.queued = false;
      this.refresh('job');
      this.painted = performance.now();
      this.later ??= setTimeout(() => this.all(), Math.max(LISTS_AFTER, this.again - this.painted));
    };
    const wait = this.painted + FRAME - performance.now();
    if (wait > 0) setTimeout(paint, wait);
    else queueMicrotask(paint);
  }

  /** Paints all that changed. While a phone catches up, lists of all jobs would
   * change with every frame and take most of its time. */
  async all() {
    const began = performance.now();
    await this.listed([...this.watched.values()], () => {
      clearTimeout(this.later);
      this.later = undefined;
      this.refresh();
    });
    const now = performance.now();
    this.again = now + REST * (now - began);
  }

  /** Paints once the core has what lists show, if any of these is one.
   * @param {Watched[]} watched @param {() => void} paint */
  async listed(watched, paint) {
    if (!watched.some((w) => LISTS.includes(w.name) && this.ready(w))) return paint();
    await this.phone.settle('lists', paint).catch(() => (this.later = undefined)); // a core that is made anew says when
  }

  /** @param {string} [only] views of this name */
  refresh(only) {
    this.net.waiting = this.phone.waiting;
    this.net.photos = this.album?.left ?? 0;
    if (!this.net.online) this.net.since = this.phone.contact();
    this.mark();
    for (const w of this.watched.values()) if ((!only || w.name === only) && this.ready(w)) this.paint(w);
  }

  /** The page remembers what is only here, should the store be lost. */
  mark() {
    if (!this.phone.complete) return;
    const mark = { born: this.phone.store.born, lines: this.net.waiting, photos: this.net.photos };
    if (this.marked === (this.marked = JSON.stringify(mark))) return;
    this.phone.remembered = Promise.resolve(mark);
    this.post({ event: 'mark', mark });
  }

  /** @param {{name: string, id: string, json: string, stale: boolean}} view for the page to paint */
  give(view) {
    this.phone.draws = performance.now();
    this.post({ event: 'view', ...view });
  }

  /** @param {Watched} w */
  paint(w) {
    let json;
    try {
      json = this.phone.view(w.name, w.id);
    } catch (error) {
      console.error(error);
      return;
    }
    json = json ? `${json.slice(0, -1)},"net":${JSON.stringify(this.net)}}` : 'null';
    // The moment alone is no change.
    const what = json.replace(/^(\{"v":"[a-z]+"),"now":\d+/, '$1');
    if (what === w.last && Date.now() - w.posted < EVERY - 1000) return;
    w.last = what;
    w.posted = Date.now();
    this.give({ name: w.name, id: w.id, json, stale: false });
    clearTimeout(this.keeping);
    this.keeping = setTimeout(() => this.keep().catch((error) => console.info('no view kept:', error)), KEEP_AFTER);
  }

  async keep() {
    for (const [key, w] of this.watched) {
      if (w.last !== '' && w.last !== 'null') await this.phone.store.keep('meta', key, w.last.replace(/^(\{"v":"[a-z]+")/, `$1,"now":${w.posted}`), false);
    }
  }
}
