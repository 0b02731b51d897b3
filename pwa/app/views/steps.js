// @ts-check
// The job's steps: the one at hand stands large above, the others are a line
// each. A line opens to its panels and its three answers.

import { html, nothing, t } from '../tongue.js';
import { marks } from '../marks.js';
import { now } from './app.js';
import { short, where } from './answer.js';
import { bit } from './bits.js';
import { letPass, tick } from './dock.js';
import { onFold, unfolded } from './folded.js';
import { shape, state } from './shapes.js';
import { finishedWord, stateWord } from './words.js';

/** The step at hand stands large above. What is done folds to one line, the
 * film's own way beside the vehicle is a row of its own. @param {any} view the job */
export function steps(view) {
  const all = view.stages ?? [], bench = all.filter((/** @type {any} */ s) => s.bench), own = all.filter((/** @type {any} */ s) => !s.bench);
  const done = own.filter((/** @type {any} */ s) => s.state === 'done'), left = own.filter((/** @type {any} */ s) => s.state !== 'done');
  return html`<section class="lap" aria-labelledby="steps-title">
    <h2 id="steps-title">Job steps${view.route?.name ? html` <span class="where">${view.route.name}</span>` : nothing}</h2>
    ${done.length ? html`<details class="folded" data-testid="steps-done"><summary>${state('done', done.length === 1 ? t`1 step done` : t`${done.length} steps done`)}</summary>${list(view, done)}</details>` : nothing}
    ${bench.length ? html`<details class="folded" data-testid="steps-film" ?open=${bench.some((/** @type {any} */ s) => s.key === view.gate?.stage)}><summary>${benchLine(view, bench)}</summary>${list(view, bench)}</details>` : nothing}
    ${list(view, left.filter(() => bit(1)))}
  </section>`;
}

/** @param {any} view @param {any[]} stages */
const list = (view, stages) => html`<ol class="steps">${stages.map((s) => {
  const here = s.key === view.gate?.stage;
  return html`<li class=${here ? 'at' : s.state === 'done' ? 'gone' : ''}>${step(view, s, here)}</li>`;
})}</ol>`;

/** How far the film is, in one line: the first of its steps that is not done.
 * @param {any} view @param {any[]} bench */
function benchLine(view, bench) {
  const s = bench.find((x) => x.state !== 'done');
  if (!s) return state('done', t`Film: ready`);
  const g = (s.gates ?? []).find((/** @type {any} */ x) => x.state !== 'done') ?? s;
  return state(s.state, t`Film: ${s.name.toLowerCase()}, ${short({ ...g, word: '' }, view)}`);
}

/** @param {any} view @param {any} s @param {boolean} here */
function step(view, s, here) {
  const gates = s.gates ?? [];
  const text = marks(s.text, view.shop, now(view));
  const word = s.word || (gates.length === 1 ? short(gates[0], view) : stateWord[s.state] ?? '');
  return html`<details data-testid="stage:${s.key}" data-state=${s.state} @toggle=${onFold(view.id + s.key)}><summary aria-current=${here ? 'step' : nothing}>
      <span class="is-${s.state} shape">${shape(s.state)}</span><span class="grow"><b>${s.name}</b>
      <span class="small is-${s.state}">${s.state === 'done' ? stateWord.done : text || word}</span></span></summary>
    ${unfolded(view.id + s.key) ? gates.map((/** @type {any} */ g) => gateLine(view, { ...g, name: g.name || s.name }, s)) : nothing}</details>`;
}

/** @param {any} view @param {any} g @param {any} s */
function gateLine(view, g, s) {
  const here = view.gate && view.gate.stage === g.stage && (view.gate.panel || '') === (g.panel || '') && (view.gate.zone || '') === (g.zone || '');
  const own = here && view.gate.state === 'open';
  const id = 'tick:' + g.stage + (g.panel ? ':' + g.panel : '');
  return html`<div class="gate"><p class="grow">${where(g) ? html`<b>${where(g)}</b> ` : nothing}${state(g.state, short(g, view))}
      ${g.text && s.text !== g.text ? html`<br><span class="small">${marks(g.text, view.shop, now(view))}</span>` : nothing}</p>
    ${g.state === 'done' || view.closed || s.tap === false ? nothing : html`<div class="row wrap">
      <button type="button" class="press" data-testid=${own ? nothing : id} @click=${() => tick(view, g, 'done', finishedWord(s))}>${finishedWord(s)}</button>
      <button type="button" class="press" @click=${() => tick(view, g, 'not-done', t`Noted: not done`)}>Not done</button>
      <button type="button" class="press" @click=${() => tick(view, g, 'from-memory', t`Noted from memory`)}>From memory</button></div>`}${here || view.closed ? nothing : letPass(view, g, 'press', 'waive:' + id.slice(5))}</div>`;
}

/** The one caution line of the step at hand, until the step has its first line.
 * @param {any} view */
export function caution(view) {
  const s = (view.stages ?? []).find((/** @type {any} */ x) => x.key === view.gate?.stage);
  const begun = (s?.gates ?? []).some((/** @type {any} */ g) => g.state === 'done');
  return s?.caution && !begun && !view.closed ? html`<p class="caution" data-testid="caution">${shape('first')}<span>${s.caution}</span></p>` : nothing;
}
