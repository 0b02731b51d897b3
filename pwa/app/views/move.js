// @ts-check
// The vehicle moved: one tap says where to and what the road was like.

import { html, nothing, t } from '../tongue.js';
import { app, closeSheet, home, job } from './app.js';
import { ofJob, write } from './acts.js';
import { refusal } from './dock.js';
import { may, measured, unsized } from './lead.js';
import { sheet } from './sheet.js';
import { shape } from './shapes.js';
import { saveSize, sizeFields, sizeOf } from './size.js';
import { leadWord, moveWord, sizeWord } from './words.js';

/** @param {any} s */
export function moveSheet(s) {
  const view = job();
  const places = (home()?.places ?? []).filter((/** @type {any} */ p) => p.id !== view.place?.id).sort((/** @type {any} */ a, /** @type {any} */ b) => (a.order || 0) - (b.order || 0));
  return sheet(moveWord.title(view.label), html`
    ${(view.lines ?? []).some((/** @type {any} */ l) => l.kind === 'job.move') ? nothing : html`<p class="caution">${shape('first')}<span>${moveWord.caution}</span></p>`}
    <p>${moveWord.ask}</p>
    ${refusal(app.refused)}
    <ul class="moves">${places.map((/** @type {any} */ p) => html`<li><div role="group" aria-label=${p.name}>${p.sort === 'bay' ? may(s, view.id, p) : html`<p class="may"><span class="tape">${p.name}</span></p>`}
      ${Object.entries(moveWord.roads).map(([key, word]) => html`<button type="button" class="press" data-testid="move:${p.name}:${key}" aria-label="${p.name}, ${word}" @click=${() => save(view, p, key)}>${word}</button>`)}</div></li>`)}</ul>
    <p class="small quiet">${moveWord.wet}</p>
    ${unsized(s, view.id) ? html`<details data-testid="size"><summary data-testid="size-open">${leadWord.fits(view.label)}</summary><div class="stack">${sizeFields(s, view.vehicle)}
      <button type="button" class="press go wide" data-testid="size-save" @click=${() => size(view, s)}>${sizeWord.keep}</button></div></details>` : nothing}`);
}

/** @param {any} view @param {any} s */
async function size(view, s) {
  const got = sizeOf(s);
  if (got && (await saveSize(view.id, got, view.label))) {
    measured(view.id);
    closeSheet();
  }
}

/** @param {any} view @param {any} place @param {string} wet */
async function save(view, place, wet) {
  if (await write({ log: ofJob(view.id), kind: 'job.move', body: { place: place.id, at: 0, wet } }, t`Noted: moved to ${place.name}.`)) closeSheet();
}
