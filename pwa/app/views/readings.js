// @ts-check
// What was measured: the tape dots on the vehicle with their last numbers, and
// the air of the place it stands in, with where each came from and how old it is.

import { html, nothing } from '../vendor/lit-html.js';
import { clock, difference, fromField, hours, humidity, temperature } from '../marks.js';
import { app, closeSheet, home, now, openSheet } from './app.js';
import { refuse } from './acts.js';
import { evidence } from './evidence.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';

/** @param {any} view the job */
export function readings(view) {
  const spots = view.spots ?? [];
  return html`<section class="lap" aria-labelledby="read-title">
    <h2 id="read-title">Readings</h2>
    ${view.margin ? html`<p class="fact">${view.margin.spot_name}: ${difference(Math.abs(view.margin.value), view.shop)} ${view.margin.value < 0 ? 'under' : 'above'} the dew point.</p>` : nothing}
    <ul class="dots">${spots.map((/** @type {any} */ s) => html`<li><button type="button" class="press ${s.ask ? 'asked' : ''}"
      data-testid=${(view.gate?.ask === s.id ? 'spot:' : 'read:') + s.id} @click=${() => openSheet('pad', { what: 'spot', job: view.id, spot: s })}>
      <span class="dot">${s.id}</span><span class="grow"><b>${s.name}</b><br><span class="small">${last(view, s)}</span></span></button></li>`)}</ul>
    ${view.place?.id ? html`${air(view)}<div class="choice glove">
      <button type="button" class="press" data-testid="climate" @click=${() => openSheet('pad', { what: 'climate', place: view.place })}>Air by hand</button>
      <button type="button" class="press" data-testid="minmax" @click=${() => openSheet('minmax', { place: view.place })}>Min-max read</button></div>` : nothing}
    ${evidence(view)}
  </section>`;
}

/** @param {any} view @param {any} s */
function last(view, s) {
  if (!s.last) return s.ask ? 'no reading, read it next' : 'no reading';
  return `${temperature(s.last.surface, view.shop)}, ${clock(s.last.at, view.shop, now(view))}${s.last.by ? ', ' + s.last.by : ''}${s.last.instrument === 'logger' ? ', logger' : ''}`;
}

/** @param {any} view */
function air(view) {
  const c = view.climate;
  if (!c) return html`<p>${view.place.name}: no reading of the air.</p>`;
  return html`<p>${view.place.name}: air ${temperature(c.air, view.shop)}, ${humidity(c.rh)}, dew point ${temperature(c.dew, view.shop)}.
    <span class="small quiet">${c.source ? c.source + ', ' : ''}${hours(c.age_ms ?? now(view) - c.at)} old</span></p>`;
}

/** Since when a minimum-maximum instrument has been watching. @param {any} s */
export function minMaxSheet(s) {
  return sheet(`Min-max instrument, ${s.place.name}`, html`
    <label class="field"><span>When was it reset?</span><input type="datetime-local" data-testid="minmax-from" @input=${(/** @type {any} */ e) => { s.from = fromField(e.target.value, home()?.shop ?? {}); }}></label>
    ${refusal(app.refused)}
    <div class="acts"><button type="button" class="act" @click=${closeSheet}>Not known</button>
      <button type="button" class="act go" data-testid="minmax-next" @click=${() => next(s)}>Read it now</button></div>`);
}

/** @param {any} s */
function next(s) {
  if (!s.from) return refuse('Say when it was reset: it counts from then.');
  openSheet('pad', { what: 'span', place: s.place, from: s.from, to: Math.round(now(home())) });
}
