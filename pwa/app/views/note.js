// @ts-check
// A note on the vehicle, in anybody's words.

import { html, t } from '../tongue.js';
import { app, closeSheet, job } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';

/** @param {any} s */
export function noteSheet(s) {
  s.text ??= '';
  return sheet(t`Write a note`, html`
    <label class="field"><span>Note</span><textarea data-testid="note-text" .value=${s.text} @input=${(/** @type {any} */ e) => { s.text = e.target.value; }}></textarea></label>
    ${refusal(app.refused)}
    <div class="acts"><button type="button" class="act go" data-testid="note-save" @click=${() => save(s)}>Write it down</button></div>`);
}

/** @param {any} s */
async function save(s) {
  const text = s.text.trim();
  if (!text) return refuse(t`The note is empty.`);
  if (await write({ log: ofJob(job().id), kind: 'note', body: { text } }, t`Noted.`)) closeSheet();
}
