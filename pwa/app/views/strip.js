// @ts-check
// The vehicle unrolled in hang order: a strip of panels off the roll, each
// lapping over the one before, rear first. Upper panels and sills lie in rows
// of their own, so that a partial answer is seen as one. A wipe drains down
// its panel as it ages.

import { html, svg, nothing } from '../vendor/lit-html.js';
import { hours } from '../marks.js';
import { now, openSheet } from './app.js';
import { shape } from './shapes.js';
import { stateWord, wipeWord } from './words.js';
import { short } from './answer.js';

/** How long a wipe lasts when nobody says: only for how full a panel is drawn. */
const WIPE = 30 * 60_000;

/** @param {any} view the job */
export function strip(view) {
  const panels = view.panels ?? [];
  if (!panels.length) return nothing;
  const zones = [...new Set(panels.map((/** @type {any} */ p) => p.zone || ''))];
  return html`<section class="lap" aria-labelledby="strip-title">
    <h2 id="strip-title" class="row">${shape('roll')} Panels in hang order</h2>
    ${zones.map((zone) => html`
      ${zone ? html`<h3 class="zone">${zone}${zoneSays(view, zone)}</h3>` : nothing}
      <ol class="strip ${zone === 'lower' ? 'lower' : ''}">${panels.map((/** @type {any} */ p, /** @type {number} */ i) =>
        (p.zone || '') === zone ? html`<li>${tile(view, p, i + 1)}</li>` : nothing)}</ol>`)}
  </section>`;
}

/** One short answer for a row when all its panels share it. @param {any} view @param {string} zone */
function zoneSays(view, zone) {
  const gates = view.panels.filter((/** @type {any} */ p) => p.zone === zone && p.gate).map((/** @type {any} */ p) => p.gate);
  const words = new Set(gates.map((/** @type {any} */ g) => g.state + short(g, view)));
  if (!gates.length || words.size !== 1) return nothing;
  return html`<span class="state is-${gates[0].state}">${shape(gates[0].state)}<span>${short(gates[0], view)}</span></span>`;
}

/** @param {any} view @param {any} p @param {number} place */
function tile(view, p, place) {
  const at = now(view);
  const wipe = p.wipe ?? { state: 'none', until: 0 };
  const g = p.gate; // null: nothing is left to do on this panel
  const left = g && wipe.state === 'good' ? Math.max(0, wipe.until - at) : 0;
  const mark = !g ? 'done' : wipe.state === 'spoiled' || wipe.state === 'stale' ? wipe.state : g.state;
  const says = (g ? [wipeWord[wipe.state] + (left ? ' ' + hours(left) : ''), g.word || stateWord[g.state]] : ['done']).filter(Boolean).join(', ');
  return html`<button type="button" class="tile wipe-${g ? wipe.state : 'none'}" data-testid="tile:${p.id}" @click=${() => openSheet('panel', { panel: p.id })}>
    ${left ? html`<svg class="level" preserveAspectRatio="none" viewBox="0 0 1 100" aria-hidden="true">${drain(left)}</svg>` : nothing}
    <span class="dot">${place}</span><span class="called">${p.name}</span><span class="unseen">${says}</span>
    <span class="says ${'is-' + (mark === 'stale' || mark === 'spoiled' ? 'held' : mark)}">${left ? html`<b>${Math.floor(left / 60_000)}</b>min` : shape(mark)}</span>
  </button>`;
}

/** @param {number} left */
function drain(left) {
  const full = Math.min(100, (left / WIPE) * 100);
  return svg`<rect y=${(100 - full).toFixed(1)} width="1" height=${full.toFixed(1)}/>`;
}
