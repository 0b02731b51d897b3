// @ts-check
// Hold all: hands go off the vehicle for a while. Nothing is asked and nothing
// is written; the sheet says, large enough for the far wall, until when what is
// wiped or primed stays good, and what a pause of each length would cost. Time
// itself makes a wipe too old; the core says so on return.

import { html, nothing } from '../tongue.js';
import { clock, hours } from '../marks.js';
import { closeSheet, job, now } from './app.js';
import { sheet } from './sheet.js';
import { shape, state } from './shapes.js';
import { holdWord, wipeWord } from './words.js';

const MINUTE = 60_000;
const pauses = [15, 30, 60];

/** What runs out by itself on this vehicle: good wipes of panels that are not
 * laid, soonest first. @param {any} view */
export const running = (view) => (view?.panels ?? [])
  .filter((/** @type {any} */ p) => p.gate && p.wipe?.state === 'good' && p.wipe.until > now(view))
  .sort((/** @type {any} */ a, /** @type {any} */ b) => a.wipe.until - b.wipe.until);

/** @param {any} s keeps what was good when hands went off */
export function holdSheet(s) {
  const view = job(), at = now(view);
  s.held ??= running(view).map((/** @type {any} */ p) => p.id);
  const list = running(view), next = list[0];
  const over = view.panels.filter((/** @type {any} */ p) => s.held.includes(p.id) && !list.includes(p));
  return sheet(holdWord.title, html`
    ${next ? html`<p class="hold"><span>${holdWord.backBy}</span> <time class="digits">${clock(next.wipe.until, view.shop, at)}</time></p>` : nothing}
    ${s.held.length ? html`<ul class="holding">${over.map((/** @type {any} */ p) => held(view, p, state('held', wipeWord.stale)))}${list.map((/** @type {any} */ p) => held(view, p, html`<b>${hours(p.wipe.until - at)}</b>`))}</ul>
      ${next ? html`<dl class="pauses">${pauses.map((m) => pause(list, at, m))}</dl>` : nothing}` : html`<p class="fact">${holdWord.nothing}</p>`}
    <p class="quiet">${holdWord.goesOn}</p>
    <div class="acts"><button type="button" class="act go" data-testid="hold-back" @click=${closeSheet}>${holdWord.back}</button></div>`);
}

/** @param {any} view @param {any} p @param {unknown} says */
const held = (view, p, says) => html`<li class="row"><span class="hang">${view.panels.indexOf(p) + 1}</span><span class="grow">${p.name}</span>${says}</li>`;

/** @param {any[]} list @param {number} at @param {number} minutes */
function pause(list, at, minutes) {
  const gone = list.filter((p) => p.wipe.until <= at + minutes * MINUTE).length;
  return html`<div><dt>${hours(minutes * MINUTE)}</dt><dd>${gone ? html`<span class="state is-held">${shape('stale')}<span>${holdWord.wipeAgain(gone)}</span></span>`
    : html`<span class="state is-done">${shape('done')}<span>${holdWord.allGood}</span></span>`}</dd></div>`;
}

/** @param {any} view */
export const holdButton = (view, open = () => {}) => (view.closed ? nothing : html`<button type="button" class="press iced" data-testid="hold" @click=${open}>${shape('hold')}<span>${holdWord.title}</span></button>`);
