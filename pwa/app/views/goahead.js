// @ts-check
// The lead lets a stopped step pass, by name and with a sentence. It stays on
// the vehicle's record for ever, so it says what it covers before it is given.

import { html, t } from '../tongue.js';
import { marks } from '../marks.js';
import { app, closeSheet, job, now } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { needs } from './rights.js';
import { sheet } from './sheet.js';
import { where } from './answer.js';

/** @param {any} s */
export function goAheadSheet(s) {
  const view = job(), g = s.gate;
  s.sentence ??= '';
  const text = marks(g.text, view.shop, now(view));
  return sheet(t`Let it pass: ${(g.name || g.stage) + (where(g) ? ', ' + where(g) : '')}`, html`
    <p class="fact">${text}</p>
    <p>Covers only this. Anything new stops it again. ${t`It stays on the record with the name of ${view.me?.name ?? t`the lead`}.`}</p>
    <label class="field"><span>Why it may pass, in a sentence</span><textarea data-testid="waive-sentence" .value=${s.sentence}
      @input=${(/** @type {any} */ e) => { s.sentence = e.target.value; }}></textarea></label>
    ${needs('waiver')}${refusal(app.refused)}
    <div class="acts"><button type="button" class="act" @click=${closeSheet}>Leave it stopped</button>
      <button type="button" class="act go" data-testid="waive-save" @click=${() => save(s, view)}>Let it pass</button></div>`);
}

/** @param {any} s @param {any} view */
async function save(s, view) {
  const g = s.gate, sentence = s.sentence.trim();
  if (sentence.split(/\s+/).length < 3) return refuse(t`Write why, in a sentence.`);
  const body = { stage: g.stage, panel: g.panel || '', zone: g.zone || '', causes: g.causes ?? (g.cause ? [g.cause] : []), sentence };
  if (await write({ log: ofJob(view.id), kind: 'waiver', body }, t`Let pass, on the record.`)) closeSheet();
}
