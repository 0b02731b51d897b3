// @ts-check
// Under the thumb: the one next thing, and beside it, as large, 'not done' and
// 'from memory'. The line that was just noted lies above it with its undo.

import { html, nothing } from '../vendor/lit-html.js';
import { marks } from '../marks.js';
import { app, home, now, openSheet } from './app.js';
import { ofJob, undo, write } from './acts.js';
import { finishedWord, walkWord } from './words.js';
import { where } from './answer.js';
import { answerFinding, answers, findingName, signedOn } from './inspection.js';
import { shape } from './shapes.js';

/** What was just noted, with its undo. */
export function noted() {
  const last = app.noted;
  if (!last) return nothing;
  return html`<div class="noted"><div class="row"><span>${last.say}</span>
    ${last.id ? html`<button type="button" class="press push" data-testid="undo" @click=${undo}>${shape('undo')} Undo</button>` : nothing}</div></div>`;
}

/** @param {string} sentence */
export const refusal = (sentence) =>
  sentence ? html`<p class="refused" data-testid="refusal">${shape('held')}<span class="grow">${marks(sentence, home()?.shop ?? {}, now(home()))}</span>
    ${app.again ? html`<button type="button" class="press" data-testid="sure" @click=${app.again}>Yes, so it is</button>` : nothing}</p>` : nothing;

/** The step of a gate. @param {any} view @param {any} g */
const stageOf = (view, g) => (view.stages ?? []).find((/** @type {any} */ s) => s.key === g.stage) ?? {};

/** @param {any} view the job @param {any} g its gate now */
export function nextThing(view, g) {
  if (!g || view.closed) return nothing;
  if (g.state === 'done') return html`<div class="acts"><button type="button" class="act go" @click=${() => openSheet('close')}>Hand it over</button></div>`;
  const stage = stageOf(view, g);
  const spot = g.ask && (view.spots ?? []).find((/** @type {any} */ s) => s.id === g.ask);
  if (spot) return readSpot(view, spot, g);
  if (stage.key === 'inspection') return walk(view, g);
  if (!stage.tap && g.state !== 'waits' && (view.evidence ?? []).some((/** @type {any} */ e) => e.what === stage.key)) return test(view, stage, g);
  if (g.state === 'open' && stage.tap !== false) return ticks(view, g);
  const air = g.state === 'unknown' && view.place?.id
    ? html`<button type="button" class="act go" @click=${() => openSheet('pad', { what: 'climate', place: view.place })}>Read the air, ${view.place.name}</button>` : nothing;
  const pass = letPass(view, g);
  return air === nothing && pass === nothing ? nothing : html`<div class="acts">${air}${pass}</div>`;
}

/** @param {any} view @param {any} g */
const letPass = (view, g) => (g.waivable && view.me?.role === 'lead'
  ? html`<button type="button" class="act low" data-testid="waive" @click=${() => openSheet('goahead', { gate: g })}>Let it pass as lead</button>` : nothing);

/** @param {any} view @param {any} spot @param {any} g */
const readSpot = (view, spot, g) => html`<h2>Read at the tape dot</h2><div class="acts two">
  <button type="button" class="act go" data-testid="read:${spot.id}" @click=${() => openSheet('pad', { what: 'spot', job: view.id, spot })}>
    <span class="dot big">${spot.id}</span><span>${spot.name}</span></button>
  <button type="button" class="act" data-testid="not-measured" @click=${() => notMeasured(view, spot)}>Not measured</button>${letPass(view, g)}</div>`;

/** The walk round: what was seen, and who has not signed yet. @param {any} view @param {any} g */
function walk(view, g) {
  const signed = signedOn(view, 'clean').map((/** @type {any} */ s) => s.as);
  const open = (view.findings ?? []).find((/** @type {any} */ f) => !f.answer);
  if (open && signed.includes('owner')) {
    const name = findingName(view, open);
    return html`<h2>${name}: owner says</h2><div class="acts">${answers.map(([key, word]) => html`<button type="button" class="act"
      @click=${() => answerFinding(view, open, key, name)}>${word}</button>`)}${letPass(view, g)}</div>`;
  }
  return html`<h2>Look over clean paint</h2><div class="acts">
    <button type="button" class="act" @click=${() => openSheet('finding', {})}>Found something</button>
    ${['installer', 'owner'].filter((as) => !signed.includes(as)).map((as) => html`<button type="button" class="act go" @click=${() => openSheet('sign', { as })}>
      ${walkWord['sign-' + as]}</button>`)}${letPass(view, g)}</div>`;
}

/** A step that a test closes. @param {any} view @param {any} stage @param {any} g */
const test = (view, stage, g) => html`<h2>${stage.name}</h2><div class="acts">
  <button type="button" class="act go" data-testid="evidence-now:${stage.key}" @click=${() => openSheet('evidence', { what: stage.key, title: stage.name })}>Write the test down</button>
  ${letPass(view, g)}</div>`;

/** The three answers to a step. @param {any} view @param {any} g */
export function ticks(view, g) {
  const id = 'tick:' + g.stage + (g.panel ? ':' + g.panel : '');
  const title = (g.name || g.stage) + (where(g) ? ': ' + where(g) : '');
  return html`<h2>${title}</h2><div class="acts">
    <button type="button" class="act go" data-testid=${id} @click=${() => tick(view, g, 'done', finishedWord(g))}>${finishedWord(g)}</button>
    <button type="button" class="act" data-testid="${id}:not-done" @click=${() => tick(view, g, 'not-done', 'Noted: not done')}>Not done</button>
    <button type="button" class="act" data-testid="${id}:from-memory" @click=${() => tick(view, g, 'from-memory', 'Noted from memory')}>From memory</button></div>`;
}

/** @param {any} view @param {any} g @param {string} answer @param {string} words */
export function tick(view, g, answer, words) {
  const body = { stage: g.stage, panel: g.panel || '', zone: g.zone || '', answer };
  return write({ log: ofJob(view.id), kind: 'tick', body }, words + (where(g) ? ', ' + where(g) : '') + '.');
}

/** @param {any} view @param {any} spot */
const notMeasured = (view, spot) => write(
  { log: ofJob(view.id), kind: 'reading', body: { values: [{ spot: spot.id, surface: 0 }], instrument: '', answer: 'not-measured', typed: '' } },
  `Noted: ${spot.name} not measured.`);
