// @ts-check
// Every line of the vehicle, latest first: who, when, what, and whether the
// shop has it. A line that was taken back stays readable.

import { html, nothing, t } from '../tongue.js';
import { clock, marks } from '../marks.js';
import { now } from './app.js';
import { ofJob, strike, write } from './acts.js';
import { onFold, unfolded } from './folded.js';
import { barred } from './rights.js';
import { shape } from './shapes.js';
import { player } from './voice.js';

/** @param {any} view */
export function lines(view) {
  const list = view.lines ?? [];
  const here = list.filter((/** @type {any} */ l) => l.where === 'here').length;
  const key = view.id + 'lines';
  return html`<details class="lap" data-testid="lines" @toggle=${onFold(key)}><summary>${here ? t`Lines (${list.length}, ${here} on this phone)` : t`Lines (${list.length})`}</summary>
    ${unfolded(key) ? html`<ol class="lines">${list.map((/** @type {any} */ l) => line(view, l))}</ol>` : nothing}</details>`;
}

/** Written on this phone, and not by a right that is missing now. @param {any} l */
const own = (l) => l.mine && barred(l.kind) === undefined;

/** @param {any} view @param {any} l */
function line(view, l) {
  const text = marks(l.text, view.shop, now(view));
  return html`<li class=${l.struck ? 'struck' : ''}>
    <p class="small quiet">${clock(l.at, view.shop, now(view))} · ${l.by || t`shop`} · ${l.where === 'here'
      ? html`<span class="state is-waits">${shape('phone')}<span>on this phone</span></span>` : t`at the shop`}</p>
    <p class="row"><span class="grow">${l.struck ? html`<s>${text}</s> taken back` : text}</span>${l.voice && !l.struck ? player(l.voice, text) : nothing}
    ${!l.struck && (own(l) || view.me?.role === 'lead') && !view.closed && l.kind !== 'strike' ? html`<button type="button" class="press plain" aria-label="Take back: ${text}"
      @click=${() => strike(ofJob(view.id), l, t`Taken back.`, !own(l))}>${shape('undo')}</button>` : nothing}</p>${l.was && !l.struck ? was(view, l) : nothing}</li>`;
}

/** Both times of a line that was written down later; the lead says with one
 * touch that the typed one is right. @param {any} view @param {any} l */
export const was = (view, l) => html`<p class="row wrap small" data-testid="was"><span class="grow">${t`It was ${clock(l.was, view.shop, now(view))}, written down later.`}${l.adopted ? html` <b>The lead adopted that time.</b>` : nothing}</span>
  ${!l.adopted && view.me?.role === 'lead' && !view.closed ? html`<button type="button" class="press" data-testid="adopt" @click=${() => write({ log: ofJob(view.id), kind: 'time.adopt', body: { writer: l.writer, seq: l.seq } }, t`Noted: that time is right.`)}>That time is right</button>` : nothing}</p>`;
