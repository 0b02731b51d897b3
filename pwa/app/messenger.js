// @ts-check
// The page's only door to the worker: questions with one answer each, and
// views that come when they change.

import { script } from './script.js';

/** @typedef {(data: any) => void} Listener */

const MARK = 'only-here';

/** What the worker keeps when it is asked for it. */
const WRITES = ['write', 'undo', 'newJob', 'me', 'photo', 'voice', 'draft'];

/**
 * Returns the door to the worker that the page began with (begin.js), or to one more.
 * @param {string} [url]
 */
export function connect(url = '/app/worker.js') {
  const page = /** @type {any} */ (globalThis), { begun } = page;
  page.begun = undefined;
  /** @type {Worker} */
  const worker = begun?.worker ?? new Worker(script(url), { type: 'module', name: 'bayhold' });
  /** @type {Map<number, {resolve: Listener, reject: Listener}>} */
  const waiting = new Map();
  /** @type {Map<string, Set<Listener>>} */
  const listeners = new Map();
  /** What came before anybody listened for it. @type {any[]} */
  let unheard = [];
  let last = 0, writes = 0;
  let asked = false; // the browser to keep what is only on this phone

  const tell = (/** @type {any} */ data) => {
    if (!listeners.has(data.event)) unheard.push(data);
    for (const fn of listeners.get(data.event) ?? []) fn(data);
  };
  worker.addEventListener('message', ({ data }) => {
    if (data.answer !== undefined) {
      const call = waiting.get(data.answer);
      waiting.delete(data.answer);
      if (data.error !== undefined) call?.reject(new Error(data.error));
      else call?.resolve(data.value);
      return;
    }
    if (data.event === 'mark') return localStorage.setItem(MARK, JSON.stringify(data.mark));
    if (data.event === 'view') data.view = JSON.parse(data.json);
    tell(data);
  });
  worker.addEventListener('error', (event) => tell({ event: 'fault', text: `This phone cannot run the app: ${event.message}` }));

  begun?.listen();

  // What was only on this phone, remembered outside its store: if that is gone,
  // the person is told what went with it.
  worker.postMessage({ type: 'mark', mark: { lines: 0, photos: 0, ...JSON.parse(localStorage.getItem(MARK) ?? '{}') } });

  // What only a page can see; the worker probes its socket on each of them.
  const stir = () => worker.postMessage({ type: 'stir', visible: document.visibilityState === 'visible' });
  document.addEventListener('visibilitychange', stir);
  // A page that the browser puts by in case somebody comes back is frozen as it
  // stands, and WebKit then never ends a transaction that its worker has begun:
  // no other page could write. So its worker ends, and a page that is taken out
  // again starts anew.
  addEventListener('pageshow', ({ persisted }) => (persisted ? location.reload() : stir()));
  addEventListener('pagehide', ({ persisted }) => (persisted ? worker.terminate() : worker.postMessage({ type: 'stir', visible: false })));
  addEventListener('online', stir);
  stir();

  return {
    /** There is more to draw: what nobody waits for leaves this thread its core. */
    drawing: () => worker.postMessage({ type: 'drawing' }),
    /**
     * @param {string} type @param {any} [args] @param {Transferable[]} [transfer]
     * @returns {Promise<any>}
     */
    ask(type, args = {}, transfer = []) {
      const ask = ++last;
      if (type === 'write' && !asked) {
        asked = true;
        navigator.storage?.persist?.().catch(() => {});
      }
      const answer = new Promise((resolve, reject) => {
        waiting.set(ask, { resolve, reject });
        worker.postMessage({ ask, type, args }, transfer);
      });
      if (WRITES.includes(type)) {
        writes++;
        answer.catch(() => {}).then(() => writes--);
      }
      return answer;
    },
    /** Whether something is on its way to the disk. */
    writing: () => writes > 0,
    /** @param {string} event @param {Listener} fn @returns {() => void} */
    on(event, fn) {
      const set = listeners.get(event) ?? new Set();
      listeners.set(event, set.add(fn));
      const early = unheard.filter((data) => data.event === event);
      unheard = unheard.filter((data) => data.event !== event);
      for (const data of early) fn(data);
      return () => set.delete(fn);
    },
  };
}
