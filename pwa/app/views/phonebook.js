// @ts-check
// What is on this phone: lines and photos that the shop does not have yet, and
// a way to save them as a file if all else fails.

import { html, nothing } from '../vendor/lit-html.js';
import { app, paint } from './app.js';
import { refuse } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';

/** @param {any} s */
export function phoneSheet(s) {
  if (!s.status) {
    s.status = {};
    app.shop.ask('status').then((/** @type {any} */ status) => { s.status = status; paint(); }, () => {});
  }
  const { waiting = 0, photosWaiting = 0, online, persisted, stored } = s.status;
  const held = [count(waiting, 'line'), photosWaiting ? count(photosWaiting, 'photo') : ''].filter(Boolean).join(' and ');
  return sheet('Where the lines are', html`
    ${waiting || photosWaiting
      ? html`<p class="fact">${held} only on this phone.</p><p>They go to the shop by themselves as soon as it is in reach. Nothing to do.</p>`
      : html`<p class="fact">Everything from this phone is at the shop.</p>`}
    <p>${online === undefined ? nothing : online ? 'The shop is in reach.' : 'The shop is out of reach. Work on: all steps answer from this phone.'}</p>
    ${persisted === false ? html`<p>Put the app on the home screen: then the phone never clears it to make room.</p>` : nothing}
    ${stored ? html`<p class="small quiet">${(stored / 1e6).toFixed(1)} MB used on this phone.</p>` : nothing}
    ${refusal(app.refused)}
    <div class="acts">${waiting ? html`<button type="button" class="act" data-testid="export" @click=${save}>Save them as a file</button>` : nothing}</div>`);
}

/** @param {number} n @param {string} what */
const count = (n, what) => `${n} ${what}${n === 1 ? '' : 's'}`;

async function save() {
  try {
    const text = await app.shop.ask('export');
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([text], { type: 'application/x-ndjson' }));
    link.download = 'bayhold-phone.jsonl';
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  } catch (error) {
    refuse('Not saved: ' + (error instanceof Error ? error.message : error));
  }
}
