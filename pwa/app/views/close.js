// @ts-check
// The vehicle leaves: handed over with its film, or without any.

import { html, t } from '../tongue.js';
import { app, closeSheet, job } from './app.js';
import { ofJob, write } from './acts.js';
import { refusal } from './dock.js';
import { offered } from './rights.js';
import { sheet } from './sheet.js';

export function closeJobSheet() {
  const view = job();
  return sheet(t`${view.label} leaves`, html`
    <p>After this nothing is written on it any more, and it leaves the lists.</p>
    ${refusal(app.refused)}
    ${offered('job.close', () => html`<div class="acts"><button type="button" class="act" data-testid="close-no-film" @click=${() => save(view, 'no-film', t`Noted: ${view.label} left without film.`)}>Without film</button>
      <button type="button" class="act go" data-testid="close-handed-over" @click=${() => save(view, 'handed-over', t`Noted: ${view.label} handed over.`)}>Handed over</button></div>`)}`);
}

/** @param {any} view @param {string} how @param {string} words */
async function save(view, how, words) {
  if (await write({ log: ofJob(view.id), kind: 'job.close', body: { how } }, words)) closeSheet();
}
