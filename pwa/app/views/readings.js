// @ts-check
// What was measured: the tape dots on the vehicle with their last numbers, and
// the air of the place it stands in, with where each came from and how old it is.

import { html, nothing, t } from '../tongue.js';
import { clock, difference, fromField, hours, humidity, temperature } from '../marks.js';
import { app, closeSheet, home, now, openSheet } from './app.js';
import { refuse } from './acts.js';
import { evidence } from './evidence.js';
import { refusal } from './dock.js';
import { received } from './net.js';
import { sheet } from './sheet.js';
import { readWord } from './words.js';

/** The dots that the app chose come first, large: the coldest last time, and
 * one drawn by lot. The others are a line each. @param {any} view the job */
export function readings(view) {
  const spots = view.spots ?? [], lot = drawn(spots, view.id + Math.floor(now(view) / DAY));
  const [asked, rest] = [true, false].map((is) => spots.filter((/** @type {any} */ s) => !!(s.ask || s === lot) === is));
  const m = view.margin;
  return html`<section class="lap" aria-labelledby="read-title">
    <h2 id="read-title">${readWord.title}</h2>
    ${m ? html`<p class="fact">${readWord.margin(m.spot_name, difference(Math.abs(m.value), view.shop), m.value < 0)}</p>` : nothing}
    ${asked.length ? html`<ul class="dots asked">${asked.map((/** @type {any} */ s) => html`<li>${spot(view, { ...s, ask: true })}</li>`)}</ul>` : nothing}
    ${rest.length && asked.length ? html`<h3 class="quiet">${readWord.others}</h3>` : nothing}
    ${rest.length ? html`<ul class="dots">${rest.map((/** @type {any} */ s) => html`<li>${spot(view, s)}</li>`)}</ul>` : nothing}
    ${view.place?.id ? html`${air(view)}<div class="choice glove">
      <button type="button" class="press" data-testid="climate" @click=${() => openSheet('pad', { what: 'climate', place: view.place })}>${readWord.air}</button>
      <button type="button" class="press" data-testid="minmax" @click=${() => openSheet('minmax', { place: view.place })}>${readWord.minmax}</button></div>` : nothing}
    ${evidence(view)}
  </section>`;
}

const DAY = 86_400_000;

/** Where a gate asks for a reading, one more dot is read that day, which nobody
 * chooses: a number that is always read at the same place is soon known by heart.
 * FNV-1a of the vehicle and the day draws it, the same on every phone.
 * @param {any[]} spots @param {string} seed */
export function drawn(spots, seed) {
  const rest = spots.filter((s) => !s.ask);
  if (!rest.length || rest.length === spots.length) return undefined;
  let h = 0x811c9dc5;
  for (const c of seed) h = Math.imul(h ^ c.charCodeAt(0), 0x01000193);
  return rest[((h ^ (h >>> 15)) >>> 0) % rest.length];
}

/** @param {any} view @param {any} s */
const spot = (view, s) => html`<button type="button" class="press" data-testid=${(view.gate?.ask === s.id ? 'spot:' : 'read:') + s.id}
  @click=${() => openSheet('pad', { what: 'spot', job: view.id, spot: s })}>
  <span class="dot ${s.ask ? 'big' : ''}">${s.id}</span><span class="grow"><b>${s.name}</b>${s.ask ? html` <span class="small">${readWord.next}</span>` : nothing}<br><span class="small">${last(view, s)}</span></span></button>`;

/** @param {any} view @param {any} s */
function last(view, s) {
  if (!s.last) return readWord.none;
  return [temperature(s.last.surface, view.shop), clock(s.last.at, view.shop, now(view)), s.last.by, s.last.instrument === 'logger' ? t`logger` : ''].filter(Boolean).join(', ');
}

/** @param {any} view */
function air(view) {
  const c = view.climate;
  if (!c) return html`<p>${received() ? readWord.noAir(view.place.name) : readWord.airNotYet(view.place.name)}</p>`;
  return html`<p>${view.place.name}: air ${temperature(c.air, view.shop)}, ${humidity(c.rh)}, dew point ${temperature(c.dew, view.shop)}.
    <span class="small quiet">${c.source ? c.source + ', ' : ''}${t`${hours(c.age_ms ?? now(view) - c.at)} old`}</span></p>`;
}

/** Since when a minimum-maximum instrument has been watching. @param {any} s */
export function minMaxSheet(s) {
  return sheet(t`Min-max instrument, ${s.place.name}`, html`
    <label class="field"><span>When was it reset?</span><input type="datetime-local" data-testid="minmax-from" @input=${(/** @type {any} */ e) => { s.from = fromField(e.target.value, home()?.shop ?? {}); }}></label>
    ${refusal(app.refused)}
    <div class="acts"><button type="button" class="act" @click=${closeSheet}>Not known</button>
      <button type="button" class="act go" data-testid="minmax-next" @click=${() => next(s)}>Read it now</button></div>`);
}

/** @param {any} s */
function next(s) {
  if (!s.from) return refuse(t`Say when it was reset: it counts from then.`);
  openSheet('pad', { what: 'span', place: s.place, from: s.from, to: Math.round(now(home())) });
}
