// @ts-check
// The walk on clean paint: what was found, where, with a photo; what the owner
// says to each; and two signatures under what was shown.

import { html, nothing } from '../vendor/lit-html.js';
import { clock } from '../marks.js';
import { app, closeSheet, job, now, openSheet, paint } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { photoButton, picture } from './camera.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';
import { state } from './shapes.js';
import { findingAnswer, findingKinds } from './words.js';

/** @param {any} view */
export function inspection(view) {
  const found = view.findings ?? [], signed = view.signatures ?? [];
  return html`<section class="lap" aria-labelledby="walk-title">
    <h2 id="walk-title">Look over clean paint</h2>
    ${found.length ? html`<ul class="found">${found.map((/** @type {any} */ f) => finding(view, f))}</ul>`
      : html`<p class="quiet">Nothing written down yet. That is not the same as nothing there.</p>`}
    ${view.closed ? nothing : html`<div class="choice glove">
      <button type="button" class="press" data-testid="finding-add" @click=${() => openSheet('finding', {})}>Found something</button>
      ${['installer', 'owner'].map((as) => signer(view, signed, as))}</div>`}
  </section>`;
}

/** @param {any} view @param {any[]} signed @param {string} as */
function signer(view, signed, as) {
  const by = signed.filter((s) => s.as === as).at(-1);
  return html`<button type="button" class="press" data-testid="sign-${as}" @click=${() => openSheet('sign', { as })}>${by
    ? state('done', `${as === 'owner' ? 'Owner' : 'Installer'}: ${by.name}, ${clock(by.at, view.shop, now(view))}`)
    : as === 'owner' ? 'Owner signs' : 'Installer signs'}</button>`;
}

/** @param {any} view @param {any} f */
function finding(view, f) {
  const name = findingName(view, f);
  const answered = f.answer || '';
  return html`<li class="row wrap">${picture(f.photo, name)}
    <div class="grow"><b>${name}</b>${f.note ? html`<p class="small">${f.note}</p>` : nothing}
      <p>${state(answered ? (answered === 'declined' ? 'held' : 'done') : 'unknown', findingAnswer[answered] ?? answered)}</p></div>
    ${answered || view.closed ? nothing : html`<div class="row wrap">
      ${answers.map(([key, word]) => html`<button type="button" class="press"
        data-testid="answer:${key}:${f.seq}" aria-label="${word}: ${name}" @click=${() => answerFinding(view, f, key, name)}>${word}</button>`)}</div>`}</li>`;
}

/** What a finding is, and where. @param {any} view @param {any} f */
export function findingName(view, f) {
  const panel = (view.panels ?? []).find((/** @type {any} */ p) => p.id === f.panel);
  return `${f.what}, ${panel?.name ?? f.panel ?? 'vehicle'}${f.place ? ', ' + f.place : ''}`;
}

/** The answers that an owner can give. */
export const answers = [['accepted', 'Accept'], ['declined', 'Decline'], ['repaired', 'Repaired']];

/** @param {any} view @param {any} f @param {string} answer @param {string} name */
export const answerFinding = (view, f, answer, name) => write(
  { log: ofJob(view.id), kind: 'finding.answer', body: { finding: { writer: f.writer, seq: f.seq }, answer, note: '' } },
  `Noted: ${name}, ${findingAnswer[answer]}.`);

/** @param {any} s */
export function findingSheet(s) {
  const view = job();
  s.panel ??= ''; s.what ??= ''; s.place ??= ''; s.note ??= ''; s.photo ??= '';
  return sheet('What did you see?', html`
    <div class="choice tight" role="group" aria-label="Kind">${findingKinds.map((k) => html`<button type="button" class="press" aria-pressed=${s.what === k}
      data-testid="finding-${k.replace(' ', '-')}" @click=${() => { s.what = k; paint(); }}>${k}</button>`)}</div>
    <label class="field"><span>Panel</span><select data-testid="finding-panel" @change=${(/** @type {any} */ e) => { s.panel = e.target.value; }}>
      <option value="" ?selected=${!s.panel}>Choose the panel</option>
      ${(view.panels ?? []).map((/** @type {any} */ p, /** @type {number} */ i) => html`<option value=${p.id} ?selected=${s.panel === p.id}>${i + 1} ${p.name}</option>`)}</select></label>
    <label class="field"><span>Where on it</span><input data-testid="finding-place" autocomplete="off" .value=${s.place} @input=${(/** @type {any} */ e) => { s.place = e.target.value; }}></label>
    <label class="field"><span>More, if it helps</span><input data-testid="finding-note" autocomplete="off" .value=${s.note} @input=${(/** @type {any} */ e) => { s.note = e.target.value; }}></label>
    ${s.photo ? picture(s.photo, s.what) : nothing}
    ${refusal(app.refused)}
    <div class="acts">${photoButton(view, s.panel, (sha) => { s.photo = sha; paint(); })}
      <button type="button" class="act go" data-testid="finding-save" @click=${() => saveFinding(s, view)}>Write it down</button></div>`);
}

/** @param {any} s @param {any} view */
async function saveFinding(s, view) {
  if (!s.what) return refuse('Say what it is: touch one of the kinds.');
  if (!s.panel) return refuse('Choose the panel it is on.');
  const body = { panel: s.panel, place: s.place.trim(), what: s.what, photo: s.photo, note: s.note.trim() };
  if (await write({ log: ofJob(view.id), kind: 'finding', body }, `Noted: ${s.what}. The owner must answer.`)) closeSheet();
}
