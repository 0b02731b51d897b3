// @ts-check
// Where the lines are: on this phone until the shop has them on disk.

import { html } from '../vendor/lit-html.js';
import { clock } from '../marks.js';
import { openSheet } from './app.js';
import { shape } from './shapes.js';

/** For a few seconds after the start the socket is on its way: no alarm yet. */
const justOpened = () => performance.now() < 5000;

/** @param {any} view */
export function netMark(view) {
  const net = view?.net ?? { online: false, since: 0, waiting: 0 };
  const n = net.waiting ?? 0;
  const here = n > 0;
  const text = here ? `on this phone, ${n} ${n === 1 ? 'line' : 'lines'}` : net.online ? 'at the shop' : justOpened() && !net.since ? 'looking for the shop' : 'no signal';
  return html`<button type="button" class="net ${net.online ? '' : 'off'}" data-testid="net" @click=${() => openSheet('phone')} data-state=${net.online ? 'online' : 'offline'}
    data-waiting=${n}>${shape(here || !net.online ? 'phone' : 'shop')}<span>${text}</span></button>`;
}

/** Said under an answer that was made without the shop. @param {any} view @param {number} now */
export function without(view, now) {
  const net = view?.net;
  if (!net || net.online) return '';
  if (net.since) return 'Without what others did since ' + clock(net.since, view.shop ?? {}, now) + '.';
  return justOpened() ? '' : 'Without what others did meanwhile.';
}
