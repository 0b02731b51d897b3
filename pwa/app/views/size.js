// @ts-check
// How long and high a vehicle is: asked when it comes in, and before it moves if
// nobody said it yet. What is usual for its sort is one touch, and counts only
// once it was touched.

import { html, nothing } from '../tongue.js';
import { paint } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { inLine, shown, unitsOf } from './units.js';
import { sizes } from './vehicles.js';
import { sizeWord } from './words.js';

/** Fields for both measures; what is typed stands in s. @param {{long?: string, high?: string}} s @param {string} vehicle its sort */
export function sizeFields(s, vehicle) {
  const unit = unitsOf('m')[0], usual = sizes[vehicle], one = inLine('1', 'm', unit);
  const field = (/** @type {'long' | 'high'} */ key, /** @type {string} */ label) => html`<label class="field"><span>${label}, ${unit}</span><input inputmode="decimal" autocomplete="off" data-testid="size-${key}" .value=${s[key] ?? ''}
    @input=${(/** @type {any} */ e) => { s[key] = e.target.value; }}></label>`;
  return html`<p class="small quiet">${sizeWord.why}</p>${field('long', sizeWord.length)}${field('high', sizeWord.height)}
    ${usual ? html`<button type="button" class="press wide" data-testid="size-usual" @click=${() => { [s.long, s.high] = usual.map((mm) => String(Math.round(((mm * 1000) / one) * 100) / 100)); paint(); }}>${sizeWord.usual(shown(usual[0] * 1000, 'm'), shown(usual[1] * 1000, 'm'))}</button>` : nothing}`;
}

/** Both in mm, 0 where nothing is typed; null, and a sentence, where it is no number.
 * @param {{long?: string, high?: string}} s */
export function sizeOf(s) {
  const [long, high] = [s.long, s.high].map((text) => (text?.trim() ? inLine(text.trim().replace(',', '.'), 'm', unitsOf('m')[0]) / 1000 : 0));
  if (!(long >= 0 && high >= 0)) return refuse(sizeWord.number), null;
  return { long: Math.round(long), high: Math.round(high) };
}

/** Writes what was measured. @param {string} job @param {{long: number, high: number}} size @param {string} label */
export async function saveSize(job, size, label) {
  let ok = true;
  for (const [what, mm] of [['length-mm', size.long], ['height-mm', size.high]]) {
    if (mm) ok = !!(await write({ log: ofJob(job), kind: 'asked', body: { what, answer: String(mm) } }, sizeWord.kept(label))) && ok;
  }
  return ok;
}
