// @ts-check
// Two walks round the vehicle: at check-in with the owner, and again on clean
// paint, where chips show that the dirt had hidden. Pins on the drawing say
// what was found; the owner answers each; two signatures stand under what was
// shown. A vehicle is washed between the walks: that tells them apart.

import { html, nothing, t, tr } from '../tongue.js';
import { named } from '../door.js';
import { clock } from '../marks.js';
import { app, closeSheet, job, now, openSheet, paint } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { photoButton, picture } from './camera.js';
import { refusal } from './dock.js';
import { walkMap } from './map.js';
import { pinShape, placeWord } from './pins.js';
import { barred, needs } from './rights.js';
import { sheet } from './sheet.js';
import { state } from './shapes.js';
import { edgeKinds, findingAnswer, findingKinds, findingSizes, riskOf, walkWord } from './words.js';

/** The walks of a job in their order; 'clean' is the one on clean paint. @param {any} view */
const walksOf = (view) => ['check-in', ...(view.stages ?? []).filter((/** @type {any} */ s) => s.proof === 'walk' && s.what !== 'check-in').map((/** @type {any} */ s) => (s.what === 'inspection' ? 'clean' : s.what))];

/** Which walk it is now: the last that begins at or before the step at hand.
 * @param {any} view */
export function walkOf(view) {
  const stages = view.stages ?? [], at = stages.findIndex((/** @type {any} */ s) => s.key === view.gate?.stage);
  const last = stages.slice(0, at < 0 ? stages.length : at + 1).filter((/** @type {any} */ s) => s.proof === 'walk').at(-1);
  if (!last && stages.find((/** @type {any} */ s) => s.key === 'wash')?.state === 'done') return 'clean';
  return !last ? 'check-in' : last.what === 'inspection' ? 'clean' : last.what;
}

/** What a signature on this walk is called in its line. @param {string} walk */
export const signedAs = (walk) => (walk === 'clean' ? 'inspection' : walk);

/** Who signed a walk, latest last. @param {any} view @param {string} walk */
export const signedOn = (view, walk) => (view.signatures ?? []).filter((/** @type {any} */ s) => (s.what || 'inspection') === signedAs(walk));

/** @param {any} view */
export function inspection(view) {
  const found = view.findings ?? [], walk = walkOf(view);
  return html`<section class="lap" aria-labelledby="walk-title">
    <h2 id="walk-title">${walkWord.title}</h2>
    <ol class="walks">${walksOf(view).map((w, i) => html`<li class=${w === walk ? 'at' : ''}>${i + 1} <b>${walkWord[w]}</b>
      ${signedOn(view, w).map((/** @type {any} */ s) => html`<span class="small">${state('done', signed(view, s))}</span>`)}</li>`)}</ol>
    <p class="small quiet">${walkWord.hint}</p>
    ${walkMap(view, (panel, place) => openSheet('finding', { panel, place }))}
    ${found.length ? html`<ol class="found">${found.map((/** @type {any} */ f, /** @type {number} */ i) => finding(view, f, i + 1))}</ol>` : html`<p class="quiet">${walkWord.none}</p>`}
    ${view.closed ? nothing : html`<div class="choice glove">
      <button type="button" class="press" data-testid="finding-add" @click=${() => openSheet('finding', {})}>${walkWord.add}</button>
      ${['installer', 'owner'].map((as) => html`<button type="button" class="press" data-testid="sign-${as}" @click=${() => openSheet('sign', { as })}>${walkWord['sign-' + as]}</button>`)}
      <button type="button" class="press" data-testid="owner-absent" @click=${() => openSheet('absent')}>${walkWord.absent}</button></div>`}
  </section>`;
}

/** @param {any} view @param {any} s */
function signed(view, s) {
  const who = `${walkWord[s.as]}: ${s.name}, ${clock(s.at, view.shop, now(view))}`;
  return s.link ? t`${who}, by link` : who;
}

/** @param {any} view @param {any} f @param {number} n its number on the drawing */
function finding(view, f, n) {
  const name = findingName(view, f), answered = f.answer || '';
  return html`<li><div class="row wrap"><span class="pin-no is-${pinShape(answered)}">${n}</span>${picture(f.photo, name)}
    <div class="grow"><b>${name}</b>${f.walk ? html`<span class="small quiet"> ${walkWord['seen-' + f.walk] ?? ''}</span>` : nothing}
      ${f.note ? html`<p class="small">${f.note}</p>` : nothing}
      <p>${state(pinShape(answered), answered || !edge(f) ? findingAnswer[answered] ?? answered : walkWord.again)}</p></div></div>
    ${answered || view.closed ? nothing : html`${riskOf[f.what] ? html`<p class="risk small">${riskOf[f.what]}</p>` : nothing}${needs(edge(f) ? 'finding.answer' : 'finding.owner')}<div class="choice tight">
      ${barred(edge(f) ? 'finding.answer' : 'finding.owner') ? nothing : (edge(f) ? redone : answers).map(([key, word]) => html`<button type="button" class="press"
        data-testid="answer:${key}:${f.seq}" aria-label="${tr(word)}: ${name}" @click=${() => answerFinding(view, f, key, name)}>${tr(word)}</button>`)}</div>`}</li>`;
}

/** What a finding is, how large, and where. @param {any} view @param {any} f */
export function findingName(view, f) {
  const panel = (view.panels ?? []).find((/** @type {any} */ p) => p.id === f.panel);
  return [tr(f.what) + (f.size ? ` ${f.size / 1000} mm` : ''), panel ? named(panel.english?.name ?? panel.name) : f.panel || walkWord.vehicle, placeWord(f.place)].filter(Boolean).join(', ');
}

/** Found at the edges: hands do it again, and nobody asks the owner. @param {any} f */
const edge = (f) => f.walk === 'edges';
const redone = [['redone', 'Done again']];

/** The answers that an owner can give. */
export const answers = [['accepted', 'Accept'], ['declined', 'Leave it bare'], ['repaired', 'Repaired']];

/** @param {any} view @param {any} f @param {string} answer @param {string} name @param {string} [note] */
export const answerFinding = (view, f, answer, name, note = '') => write(
  { log: ofJob(view.id), kind: 'finding.answer', body: { writer: f.writer, seq: f.seq, answer, note } },
  t`Noted: ${name}, ${findingAnswer[answer]}.`);

/** @param {any} s */
export function findingSheet(s) {
  const view = job();
  s.panel ??= ''; s.what ??= ''; s.place ??= ''; s.note ??= ''; s.photo ??= ''; s.size ??= 0;
  const panel = (view.panels ?? []).find((/** @type {any} */ p) => p.id === s.panel);
  if (!panel && view.panels?.length) { // first where, then what
    return sheet(walkWord.whatSeen, html`<p class="fact">${walkWord.touchPanel}</p>
      ${walkMap(view, (id, place) => { s.panel = id; s.place = place; paint(); }, 'f')}`);
  }
  return sheet(panel ? `${panel.name}${s.place ? ', ' + placeWord(s.place) : ''}` : walkWord.whatSeen, html`
    <div class="choice tight" role="group" aria-label="Kind">${(edge(s) ? edgeKinds : findingKinds).map((k) => html`<button type="button" class="press" aria-pressed=${s.what === k}
      data-testid="finding-${k.replace(' ', '-')}" @click=${() => { s.what = k; paint(); }}>${tr(k)}</button>`)}</div>
    <div class="choice tight" role="group" aria-label="Size">${findingSizes.map(([mm, word]) => html`<button type="button" class="press size" aria-pressed=${s.size === mm}
      data-testid="size-${mm}" @click=${() => { s.size = s.size === mm ? 0 : mm; paint(); }}><b>${mm} mm</b> <span class="small">${tr(word)}</span></button>`)}</div>
    ${s.what && riskOf[s.what] ? html`<p class="risk">${riskOf[s.what]}</p>` : nothing}
    <label class="field"><span>${walkWord.more}</span><input data-testid="finding-note" autocomplete="off" .value=${s.note} @input=${(/** @type {any} */ e) => { s.note = e.target.value; }}></label>
    ${s.photo ? picture(s.photo, tr(s.what)) : nothing}
    ${refusal(app.refused)}
    <div class="acts">${photoButton(view, s.panel, (sha) => { s.photo = sha; paint(); }, walkWord.photo)}
      <button type="button" class="act go" data-testid="finding-save" @click=${() => saveFinding(s, view)}>Write it down</button></div>`);
}

/** @param {any} s @param {any} view */
async function saveFinding(s, view) {
  if (!s.what) return refuse(t`Say what it is: touch one of the kinds.`);
  const body = { panel: s.panel, place: s.place.trim(), what: s.what, photo: s.photo, note: s.note.trim(), walk: s.walk ?? walkOf(view), size: s.size * 1000 };
  if (await write({ log: ofJob(view.id), kind: 'finding', body }, edge(s) ? t`Noted: ${tr(s.what)}. Do it again, then close it.` : t`Noted: ${tr(s.what)}. The owner must answer.`)) closeSheet();
}

/** The owner is not here, or will not sign: what then, each in one tap.
 * @param {any} s */
export function absentSheet(s) {
  const view = job(), open = (view.findings ?? []).filter((/** @type {any} */ f) => !f.answer), g = view.gate;
  return sheet(walkWord.absent, html`
    <p class="fact">${open.length ? walkWord.openAnswers(open.length) : walkWord.noAnswers}</p>
    ${refusal(app.refused)}
    <div class="choice one">
      <button type="button" class="press" data-testid="absent-phone" @click=${() => openSheet('sign', { as: 'owner', phone: true })}>${walkWord.byPhone}</button>
      ${open.length && !barred('finding.owner') ? html`<button type="button" class="press" data-testid="absent-bare" @click=${() => bare(view, open)}>${walkWord.leaveBare(open.length)}</button>` : nothing}
      <button type="button" class="press" data-testid="absent-not-here" @click=${() => said(view, walkWord.notHere)}>${walkWord.noteNotHere}</button>
      <button type="button" class="press" data-testid="absent-will-not" @click=${() => said(view, walkWord.willNot)}>${walkWord.noteWillNot}</button>
      ${g?.waivable && g.stage === 'inspection' ? html`<button type="button" class="press" @click=${() => openSheet('goahead', { gate: g })}>Let it pass as lead</button>` : nothing}</div>
    <p class="small quiet">${walkWord.staysHeld}</p>`);
}

/** @param {any} view @param {string} text */
async function said(view, text) {
  if (await write({ log: ofJob(view.id), kind: 'note', body: { text: `${text.replace(/\.$/, '')}, ${walkWord['seen-' + walkOf(view)]}.` } }, t`Noted.`)) closeSheet();
}

/** @param {any} view @param {any[]} open */
async function bare(view, open) {
  for (const f of open) if (!(await answerFinding(view, f, 'declined', findingName(view, f), walkWord.notHere))) return;
  closeSheet();
}
