// @ts-check
// A new version of the app. The service worker has all of it before anybody
// hears of it; then it waits for a quiet moment, because starting it throws
// every page away. A line is on disk before it is painted, so a quiet page has
// nothing to lose.
//
// Two versions must never run on one store, so all tabs have to be quiet at
// once: a tab that is not holds the lock BUSY together with others like it, and
// the start needs that lock alone. A tab that froze in the middle of something
// keeps it, and the new version waits for that tab to come back or go.

import { script } from './script.js';

const BUSY = 'bayhold-busy';
const REST = 10_000; // ms that nobody touched the page
const LOOK = 3_600_000; // ms between looks for a new version; browsers look only when a page is opened
const STARTED = 'new-version';

/** @type {ServiceWorkerRegistration | undefined} */
let registration;
/** @type {() => boolean} whether something is open here, running, or on its way to the store */
let busy = () => false;
/** @type {(() => void) | null} gives the lock back */
let release = null;
let touched = performance.now(), looked = performance.now();
let asked = false; // this page asked for the start
let over = false; // another version serves this page's files already

/** Whether a new version is on this phone and waits. */
export const waiting = () => !!registration?.waiting && !!registration.active;

/** Whether this page is the first of a new version. */
export function justStarted() {
  const was = sessionStorage.getItem(STARTED);
  sessionStorage.removeItem(STARTED);
  return was !== null;
}

/** @param {() => boolean} isBusy @param {() => void} changed paint: there is something to say */
export async function follow(isBusy, changed) {
  busy = isBusy;
  const worker = navigator.serviceWorker;
  if (!worker) return;
  let controlled = !!worker.controller;
  worker.addEventListener('controllerchange', () => {
    over = controlled || asked; // a first version that takes its pages is no new one
    controlled = true;
    settle();
  });
  for (const touch of ['pointerdown', 'keydown']) addEventListener(touch, () => { touched = performance.now(); }, { capture: true, passive: true });
  try {
    registration = await worker.register(script('/sw.js'));
  } catch {
    return; // no start without signal here; the browser says why
  }
  setTimeout(() => registration?.active?.postMessage('later'), REST);
  registration.addEventListener('updatefound', () => registration?.installing?.addEventListener('statechange', changed));
  changed();
}

/** Called with each painting and when the page is seen or hidden. */
export function settle() {
  const is = busy();
  hold(is);
  if (over && !is) again();
  if (!registration || over) return;
  if (waiting() && (document.hidden || performance.now() - touched > REST)) start();
  else if (!document.hidden && performance.now() - looked > LOOK) look();
}

/** Looks whether the shop has a new version: each hour, and when the shop ends
 * the talk, which may be because this version is too old for it. */
export function look() {
  looked = performance.now();
  registration?.update().catch(() => {}); // no signal
}

/** Starts the new version if every tab is quiet; answers whether it did. */
export async function start() {
  const next = registration?.waiting;
  if (!next || busy() || !navigator.locks) return false;
  return navigator.locks.request(BUSY, { ifAvailable: true }, (lock) => {
    if (!lock) return false;
    asked = true;
    next.postMessage('start');
    return new Promise((started) => navigator.serviceWorker.addEventListener('controllerchange', () => started(true), { once: true }));
  });
}

/** Holds the lock while this tab is not quiet. @param {boolean} is */
function hold(is) {
  if (is === !!release || !navigator.locks) return;
  if (!is) {
    release?.();
    release = null;
    return;
  }
  const held = new Promise((free) => { release = () => free(undefined); });
  navigator.locks.request(BUSY, { mode: 'shared' }, () => held).catch(() => {});
}

function again() {
  sessionStorage.setItem(STARTED, '1');
  location.reload();
}
