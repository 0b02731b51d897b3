// @ts-check
// Places whose air is one, such as two bays behind an open strip curtain: what
// happens in one happens in all of them.

import { html, nothing, t } from '../tongue.js';
import { now, paint, viewOf } from './app.js';
import { ofShop, refuse, write } from './acts.js';
import { shape } from './shapes.js';

/** @type {Set<string>} places that are touched */
const chosen = new Set();

/** @param {any[]} places */
export function sharedAir(places) {
  const spaces = viewOf('board')?.spaces ?? [];
  const name = (/** @type {string} */ id) => places.find((p) => p.id === id)?.name ?? id;
  return html`<section class="lap stack" aria-labelledby="air-title"><h2 id="air-title" class="row">${shape('air')} Shared air</h2>
    ${spaces.map((/** @type {string[]} */ ids) => html`<p class="row wrap going"><span class="grow">${ids.map(name).join(', ')}</span>
      <button type="button" class="press" @click=${() => save(ids, false, ids.map(name))}>No longer</button></p>`)}
    ${spaces.length ? nothing : html`<p class="quiet">None said. Touch the places whose air mixes.</p>`}
    <div class="choice tight" role="group" aria-label="Places that share air">${places.map((p) => html`<button type="button" class="press"
      aria-pressed=${chosen.has(p.id)} data-testid="air:${p.name}" @click=${() => { if (!chosen.delete(p.id)) chosen.add(p.id); paint(); }}>${p.name}</button>`)}</div>
    <button type="button" class="press wide" data-testid="air-save" @click=${() => save([...chosen], true, [...chosen].map(name))}>They share air from now</button></section>`;
}

/** @param {string[]} places @param {boolean} begins @param {string[]} names */
async function save(places, begins, names) {
  if (places.length < 2) return refuse(t`Touch at least two places.`);
  const at = Math.round(now(viewOf('board')));
  const body = { places, from: begins ? at : 0, to: begins ? 0 : at };
  if (!(await write({ log: ofShop(), kind: 'air.shared', body }, begins ? t`Noted: ${names.join(', ')} share air.` : t`Noted: ${names.join(', ')} no longer share air.`))) return;
  chosen.clear();
  paint();
}
