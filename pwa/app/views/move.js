// @ts-check
// The vehicle moved: one tap says where to and what the road was like.

import { html, nothing, t } from '../tongue.js';
import { app, closeSheet, home, job } from './app.js';
import { ofJob, write } from './acts.js';
import { refusal } from './dock.js';
import { may } from './lead.js';
import { sheet } from './sheet.js';
import { shape } from './shapes.js';
import { moveWord } from './words.js';

/** @param {any} s */
export function moveSheet(s) {
  const view = job();
  const places = (home()?.places ?? []).filter((/** @type {any} */ p) => p.id !== view.place?.id).sort((/** @type {any} */ a, /** @type {any} */ b) => (a.order || 0) - (b.order || 0));
  return sheet(moveWord.title(view.label), html`
    ${(view.lines ?? []).some((/** @type {any} */ l) => l.kind === 'job.move') ? nothing : html`<p class="caution">${shape('first')}<span>${moveWord.caution}</span></p>`}
    <p>${moveWord.ask}</p>
    ${refusal(app.refused)}
    <ul class="moves">${places.map((/** @type {any} */ p) => html`<li><div role="group" aria-label=${p.name}><span class="tape">${p.name}</span>${may(s, view.id, p)}
      ${Object.entries(moveWord.roads).map(([key, word]) => html`<button type="button" class="press" data-testid="move:${p.name}:${key}" aria-label="${p.name}, ${word}" @click=${() => save(view, p, key)}>${word}</button>`)}</div></li>`)}</ul>
    <p class="small quiet">${moveWord.wet}</p>`);
}

/** @param {any} view @param {any} place @param {string} wet */
async function save(view, place, wet) {
  if (await write({ log: ofJob(view.id), kind: 'job.move', body: { place: place.id, at: 0, wet } }, t`Noted: moved to ${place.name}.`)) closeSheet();
}
