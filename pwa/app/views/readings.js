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

/** Which dots were asked for as the vehicle came on screen, and since when that holds. @type {{since: any, ids: Set<any>}} */
let first = { since: null, ids: new Set() };

/** The dots that the app chose come first, large: the coldest last time, and
 * one drawn by lot. The others are a line each. A reading changes what is asked
 * for; the dots stay where they are until the vehicle is opened again, so that
 * the next touch meets the dot it was meant for. @param {any} view the job */
export function readings(view) {
  /** @type {any[]} */
  const spots = (view.spots ?? []).map((/** @type {any} */ s) => ({ ...s }));
  const lot = drawn(spots, view.id + Math.floor(now(view) / DAY));
  if (lot) lot.ask = true;
  // What the last visit saw holds no place, unless it is touched: it is on screen for a moment.
  if (first.since !== app.route) first = { since: view.stale ? null : app.route, ids: new Set(spots.filter((s) => s.ask).map((s) => s.id)) };
  const [asked, rest] = [true, false].map((is) => spots.filter((s) => first.ids.has(s.id) === is));
  return html`<section class="lap" aria-labelledby="read-title">
    <h2 id="read-title">${readWord.title}</h2>
    ${asked.length ? html`<ul class="dots asked">${asked.map((/** @type {any} */ s) => html`<li>${spot(view, s, 'big')}</li>`)}</ul>` : nothing}
    ${rest.length && asked.length ? html`<h3 class="quiet">${readWord.others}</h3>` : nothing}
    ${rest.length ? html`<ul class="dots">${rest.map((/** @type {any} */ s) => html`<li>${spot(view, s, '')}</li>`)}</ul>` : nothing}
    ${view.place?.id ? html`<div class="choice glove">
      <button type="button" class="press" data-testid="climate" @click=${() => openSheet('pad', { what: 'climate', place: view.place })}>${readWord.air}</button>
      <button type="button" class="press" data-testid="minmax" @click=${() => openSheet('minmax', { place: view.place })}>${readWord.minmax}</button></div>
      <div class="in-air">${margin(view)}${air(view)}</div>` : nothing}
    ${evidence(view)}
  </section>`;
}

const DAY = 86_400_000;

/** Where a gate asks for a reading, one more dot is read that day, which nobody
 * chooses: a number that is always read at the same place is soon known by heart.
 * FNV-1a of the dot, the vehicle and the day, stirred as MurmurHash3 ends, puts
 * them in an order, the same on every phone, so that a reading of another dot
 * leaves the lot where it fell.
 * @param {any[]} spots @param {string} seed */
export function drawn(spots, seed) {
  const rest = spots.filter((s) => !s.ask);
  if (rest.length === spots.length) return undefined;
  const by = new Map(rest.map((s) => [s, hash(s.id + seed)]));
  return rest.sort((a, b) => by.get(a) - by.get(b))[0];
}

/** @param {string} text */
function hash(text) {
  let h = 0x811c9dc5;
  for (const c of text) h = Math.imul(h ^ c.charCodeAt(0), 0x01000193);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) >>> 0;
}

/** @param {any} view @param {any} s @param {string} size */
const spot = (view, s, size) => html`<button type="button" class="press ${s.ask ? 'next' : ''}" data-testid=${(view.gate?.ask === s.id ? 'spot:' : 'read:') + s.id}
  @click=${() => { first.since = app.route; openSheet('pad', { what: 'spot', job: view.id, spot: s }); }}>
  <span class="dot ${size}">${s.id}</span><span class="grow"><b>${s.name}</b>${s.ask ? html` <span class="small">${readWord.next}</span>` : nothing}<br><span class="small">${last(view, s)}</span></span></button>`;

/** @param {any} view @param {any} s */
function last(view, s) {
  if (!s.last) return readWord.none;
  return [temperature(s.last.surface, view.shop), clock(s.last.at, view.shop, now(view)), s.last.by, s.last.instrument === 'logger' ? t`logger` : ''].filter(Boolean).join(', ');
}

/** How far the coldest dot is above the dew point. The air comes when its logger
 * sends it: both stand below what a hand is about to touch, in room that was theirs
 * before they came. @param {any} view */
function margin(view) {
  const m = view.margin;
  return m ? html`<p class="fact">${readWord.margin(m.spot_name, difference(Math.abs(m.value), view.shop), m.value < 0)}</p>` : nothing;
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
