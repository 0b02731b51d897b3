// @ts-check
// What film does not hold on: the reason in one line, a photo, and what the
// owner wants, each in one tap.

import { html, nothing, t, tr } from '../tongue.js';
import { marks } from '../marks.js';
import { app, closeSheet, job, now, openSheet, paint } from './app.js';
import { ofJob, write } from './acts.js';
import { photoButton, picture } from './camera.js';
import { refusal } from './dock.js';
import { answerFinding, walkOf } from './inspection.js';
import { sheet } from './sheet.js';

/** @type {[string, string][]} */
const choices = [['declined', 'Leave it bare'], ['repaired', 'Repair it first'], ['accepted', "Owner's own risk"]];

/** @param {any} s panel, why */
export function refuseSheet(s) {
  const view = job(), panel = view.panels.find((/** @type {any} */ p) => p.id === s.panel);
  return sheet(t`${panel?.name ?? t`Vehicle`}: owner's choice`, html`
    <p class="fact">${marks(s.why, view.shop, now(view))}</p>
    ${s.photo ? picture(s.photo, t`what film does not hold on`) : nothing}
    <div class="choice glove">${photoButton(view, s.panel, (sha) => { s.photo = sha; paint(); })}</div>
    ${refusal(app.refused)}
    <div class="choice one">${choices.map(([answer, word]) => html`<button type="button" class="press" data-testid="refuse:${answer}" @click=${() => save(s, view, answer)}>${tr(word)}</button>`)}</div>
    <p class="small quiet">At own risk the owner signs, and the lead lets it pass.</p>`);
}

/** @param {any} s @param {any} view @param {string} answer */
async function save(s, view, answer) {
  const note = marks(s.english, view.shop, now(view)); // a line is read by all, in the tongue of the logbook
  if (!(await write({ log: ofJob(view.id), kind: 'finding', body: { panel: s.panel, what: 'other', place: '', photo: s.photo ?? '', note, walk: walkOf(view) } }, t`Noted.`))) return;
  const id = app.noted?.id;
  if (!id || !(await answerFinding(view, id, answer, note))) return;
  if (answer === 'accepted') openSheet('sign', { as: 'owner', what: 'film-risk' });
  else closeSheet();
}
