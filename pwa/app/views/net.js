// @ts-check
// Where the lines are: on this phone until the shop has them on disk.

import { html, t } from '../tongue.js';
import { clock } from '../marks.js';
import { openSheet, paint } from './app.js';
import { shape } from './shapes.js';

/** For a few seconds after the start the socket is on its way: no alarm yet. */
const justOpened = () => performance.now() < 5000;

/** Nothing came for as long: the screen says so instead of 'looking' for ever. */
export const waited = () => !justOpened();

/** @param {any} view */
export function netMark(view) {
  const net = view?.net ?? { online: false, since: 0, waiting: 0 };
  const n = net.waiting ?? 0;
  const here = n > 0;
  const text = net.role === 'none' || net.role === 'off' ? t`not of the shop` : here ? n === 1 ? t`on this phone, 1 line` : t`on this phone, ${n} lines` : net.online ? t`at the shop` : justOpened() && !net.since ? t`looking for the shop` : t`no signal`;
  return html`<button type="button" class="net ${net.online ? '' : 'off'}" data-testid="net" @click=${() => openSheet('phone')} data-state=${net.online ? 'online' : 'offline'}
    data-waiting=${n}>${shape(here || !net.online ? 'phone' : 'shop')}<span>${text.replace(/(\d) /, '$1\u00a0')}</span></button>`; // a number stays with its word
}

/** Whether this phone ever held what the shop had: on a first visit the lines
 * arrive over some seconds, and what is missing then was not received yet,
 * which is not the same as not read. Kept over visits. */
export const received = () => met;

const KEY = 'received', QUIET = 3000;
let met = localStorage.getItem(KEY) === 'yes';
/** @type {ReturnType<typeof setTimeout> | undefined} */
let quiet;

/** A view came: the first time that the shop is in reach and nothing more comes
 * for a while, all is here. @param {any} view */
export function arriving(view) {
  if (met || !view.net?.online || !view.shop?.set) return;
  clearTimeout(quiet);
  quiet = setTimeout(() => {
    met = true;
    localStorage.setItem(KEY, 'yes');
    paint();
  }, QUIET);
}

/** Said where an answer was made without the shop. It comes and goes with the
 * signal, so its room stays. @param {any} view @param {number} at */
export function without(view, at) {
  const net = view?.net, since = t`Without what others did since ${clock(net?.since || at, view?.shop ?? {}, at)}.`;
  const said = !net || net.online ? '' : net.since ? since : justOpened() ? '' : t`Without what others did meanwhile.`;
  return html`<p class="cond small ${said ? '' : 'room'}">${said || since}</p>`;
}
