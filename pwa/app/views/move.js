// @ts-check
// The vehicle moves to another place: one tap for where, one for the road.

import { html } from '../vendor/lit-html.js';
import { app, closeSheet, home, job, paint } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';

/** @param {any} s */
export function moveSheet(s) {
  const view = job();
  const places = (home()?.places ?? []).filter((/** @type {any} */ p) => p.id !== view.place?.id);
  return sheet('Moved to', html`
    <div class="choice glove">${places.map((/** @type {any} */ p) => html`<button type="button" class="press" aria-pressed=${s.place === p.id}
      data-testid="move:${p.name}" @click=${() => { s.place = p.id; s.placeName = p.name; paint(); }}>${p.name}</button>`)}</div>
    <p><b>Wet road, rain or snow on the way?</b></p>
    ${refusal(app.refused)}
    <div class="acts">${[['yes', 'Yes, wet'], ['no', 'No, dry'], ['unknown', 'Not known']].map(([key, word]) => html`
      <button type="button" class="act" data-testid="wet-${key}" @click=${() => save(s, view, key)}>${word}</button>`)}</div>
    <p class="small quiet">Moving vehicles: one mover, one watcher, horn, keys on the board.</p>`);
}

/** @param {any} s @param {any} view @param {string} wet */
async function save(s, view, wet) {
  if (!s.place) return refuse('Touch where it stands now.');
  if (await write({ log: ofJob(view.id), kind: 'job.move', body: { place: s.place, at: 0, wet } }, `Noted: moved to ${s.placeName}.`)) closeSheet();
}
