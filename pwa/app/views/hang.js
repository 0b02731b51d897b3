// @ts-check
// At the dry fit: the panels in the order in which they hang, each to be ticked
// when it is there and fits. The core orders them by the seams that were
// measured; a seam says what lies under the panel, and why.

import { html, nothing } from '../tongue.js';
import { marks } from '../marks.js';
import { now } from './app.js';
import { short } from './answer.js';
import { tick } from './dock.js';
import { panelName } from './form.js';
import { state } from './shapes.js';
import { hangWord } from './words.js';

/** @param {any} view the job */
export function hang(view) {
  const gates = (view.stages ?? []).find((/** @type {any} */ s) => s.key === 'dry-fit')?.gates ?? [];
  if (view.closed || view.gate?.stage !== 'dry-fit' || !(view.hang?.length > 1)) return nothing;
  return html`<section class="lap" aria-labelledby="hang-title"><h2 id="hang-title">${hangWord.title}</h2>
    ${view.circle ? html`<p class="caution">${marks(view.circle, view.shop, now(view))}</p>` : nothing}
    <ol class="holding">${view.hang.map((/** @type {string} */ id, /** @type {number} */ i) => {
    const g = gates.find((/** @type {any} */ x) => x.panel === id), under = laps(view, id);
    return html`<li class="row"><span class="hang">${i + 1}</span><span class="grow"><b>${panelName(view, id)}</b>${under.map((u) => html`<br><span class="small">${u}</span>`)}</span>
      ${g?.state === 'open' ? html`<button type="button" class="press" data-testid="fits:${id}" @click=${() => tick(view, g, 'done', hangWord.fits)}>${hangWord.fits}</button>`
        : g ? state(g.state, g.state === 'done' ? hangWord.fits.toLowerCase() : short(g, view)) : nothing}</li>`;
  })}</ol></section>`;
}

/** What lies under a panel, and why. @param {any} view @param {string} id @returns {string[]} */
const laps = (view, id) => (view.features ?? []).filter((/** @type {any} */ f) => f.panel === id && f.sort === 'seam' && f.under)
  .map((/** @type {any} */ f) => hangWord.over(panelName(view, f.under), f.force));
