// @ts-check
// Tests made on the vehicle: strips of card drawn through seams, a sweat
// test, seams blown out, water gone. Seen, not believed.

import { html, nothing, t, tr } from '../tongue.js';
import { app, closeSheet, job, openSheet, paint } from './app.js';
import { ofJob, write } from './acts.js';
import { refusal } from './dock.js';
import { forms } from './forms.js';
import { sheet } from './sheet.js';

/** @param {any} view */
export function evidence(view) {
  const list = view.evidence ?? [];
  if (!list.length || view.closed) return nothing;
  return html`<div class="choice glove" role="group" aria-label="Tests on the vehicle">${list.map((/** @type {any} */ e) => html`
    <button type="button" class="press" data-testid="evidence:${e.what}" @click=${() => (e.what in forms ? openSheet('form', { form: e.what }) : openSheet('evidence', { what: e.what, title: e.name }))}>${e.name}</button>`)}</div>`;
}

/** The two honest outcomes of each test, in the hand's words. @type {Record<string, [string, string]>} */
const outcomes = {
  'blown-out': ['Blown out', 'Not done'],
  'card-strips': ['Came out dry', 'Came out wet'],
  'sweat-test': ['Stayed dry', 'Haze or drops'],
  'water-gone': ['No water seen', 'Water seen'],
  'patch-test': ['Lies flat', 'Pin-heads or bubbles'],
  'tape-pull': ['Nothing came off', 'Paint came off'],
  'palm-drag': ['No grab', 'It grabs'],
};

/** @param {any} s */
export function evidenceSheet(s) {
  const view = job();
  const zones = [...new Set((view.panels ?? []).map((/** @type {any} */ p) => p.zone).filter(Boolean))];
  const [good, bad] = (outcomes[s.what] ?? ['Good', 'Not good']).map(tr);
  s.zone ??= '';
  return sheet(s.title, html`
    ${zones.length > 1 ? html`<div class="choice tight" role="group" aria-label="Where">${['', ...zones].map((z) => html`
      <button type="button" class="press" aria-pressed=${s.zone === z} @click=${() => { s.zone = z; paint(); }}>${z ? tr(z) : t`Whole vehicle`}</button>`)}</div>` : nothing}
    ${s.what === 'card-strips' ? html`<div role="group" aria-label="Strips drawn"><p>How many strips did you draw?</p>
      <div class="strips">${[1, 2, 3, 4, 5, 6].map((n) => html`<button type="button" class="press" aria-pressed=${s.count === n}
        data-testid="strips-${n}" @click=${() => { s.count = n; paint(); }}>${n}</button>`)}</div></div>` : nothing}
    ${refusal(app.refused)}
    <div class="acts">
      <button type="button" class="act" data-testid="evidence-passed" @click=${() => save(s, view, true, good)}>${good}</button>
      <button type="button" class="act" data-testid="evidence-failed" @click=${() => save(s, view, false, bad)}>${bad}</button></div>`);
}

/** @param {any} s @param {any} view @param {boolean} passed @param {string} word */
async function save(s, view, passed, word) {
  const body = { what: s.what, zone: s.zone, passed, count: s.count ?? 0, note: '' };
  if (await write({ log: ofJob(view.id), kind: 'evidence', body }, t`Noted: ${s.title}, ${word.toLowerCase()}.`)) closeSheet();
}
