// @ts-check
// Under the thumb: the one next thing, and beside it, as large, 'not done' and
// 'from memory'. The line that was just noted lies above it with its undo.

import { html, nothing, t, tr } from '../tongue.js';
import { marks } from '../marks.js';
import { app, home, now, openSheet } from './app.js';
import { ofJob, undo, write } from './acts.js';
import { finishedWord, signerWord, walkWord } from './words.js';
import { where } from './answer.js';
import { photoButton } from './camera.js';
import { unmeasured } from './flats.js';
import { filmOf, forms, patchOn } from './forms.js';
import { answerFinding, answers, findingName, signedOn, walkOf } from './inspection.js';
import { barred, needs } from './rights.js';
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
  if (!g) return nothing;
  const stage = stageOf(view, g);
  if (view.closed) return view.call_due ? html`<h2>Call back</h2><div class="acts">${ticked(view, { stage: 'call-back', name: t`Call back` })}${photoButton(view, '')}</div>` : nothing;
  if (g.state === 'done' || stage.free) return html`<div class="acts">${g.state === 'open' ? ticked(view, g) : nothing}
    ${barred('job.close') ? needs('job.close') : html`<button type="button" class="act go" data-testid="leaves" @click=${() => openSheet('close')}>Hand it over</button>`}</div>`;
  const spot = g.ask && (view.spots ?? []).find((/** @type {any} */ s) => s.id === g.ask);
  if (spot) return readSpot(view, spot, g);
  const kind = kinds[stage.proof] ?? 'tick';
  if (barred(kind) && g.state !== 'waits') return html`${title(g)}<div class="acts">${needs(kind)}${letPass(view, g)}</div>`;
  const way = g.state !== 'waits' && ways[stage.proof];
  if (way) return way(view, g, stage);
  if (g.state === 'open' && stage.tap !== false) return ticks(view, g);
  const air = g.state === 'unknown' && view.place?.id
    ? html`<button type="button" class="act go" data-testid="read-air" @click=${() => openSheet('pad', { what: 'climate', place: view.place })}>${t`Read the air, ${view.place.name}`}</button>` : nothing;
  const pass = letPass(view, g);
  const blow = g.state === 'waits' && /^Blow out the seams/.test(g.english?.out ?? g.out) && (view.evidence ?? []).find((/** @type {any} */ e) => e.what === 'blown-out');
  const blown = blow ? html`<button type="button" class="act go" data-testid="blow" @click=${() => openSheet('evidence', { what: blow.what, title: blow.name })}>${blow.name}</button>` : nothing;
  return air === nothing && pass === nothing && blown === nothing ? nothing : html`<div class="acts">${air}${blown}${pass}</div>`;
}

/** The title over what the dock offers. @param {any} g */
const title = (g) => html`<h2>${(g.name || g.stage) + (where(g) ? ': ' + where(g) : '')}</h2>`;

/** A button that opens a form. @param {any} g @param {string} form @param {string} word @param {string} [how] */
const formButton = (g, form, word, how = 'go') => html`<button type="button" class="act ${how}" data-testid="form:${form}" @click=${() => openSheet('form', { form, panel: g.panel })}>${word}</button>`;

/** The kind of line that closes a step, by its proof, where it is no tick.
 * @type {Record<string, string>} */
const kinds = { walk: 'sign', test: 'evidence', survey: 'feature', film: 'film', answers: 'asked', signs: 'sign', trials: 'trial', paint: 'paint', patch: 'patch', heat: 'heat', edges: 'evidence', count: 'evidence' };

/** What closes a step, by its proof: what the hand is offered.
 * @type {Record<string, (view: any, g: any, stage: any) => unknown>} */
const ways = {
  walk,
  test: (view, g, stage) => test(view, stage, g),
  survey: (view, g) => html`${title(g)}<div class="acts">${formButton(g, 'feature', t`Measure`)}
    <button type="button" class="act" data-testid="flat" @click=${() => write({ log: ofJob(view.id), kind: 'feature', body: { panel: g.panel, id: 'flat-1', sort: 'flat' } }, t`Noted: ${where(g)} is flat.`)}>It is flat</button>
    ${unmeasured(view).length > 1 ? html`<button type="button" class="act" data-testid="flats" @click=${() => openSheet('flats')}>Several are flat</button>` : nothing}${letPass(view, g)}</div>`,
  film: (view, g) => html`${title(g)}<div class="acts">${formButton(g, 'film', filmOf(view, g.panel) ? t`Other film` : t`Type the film`)}
    ${filmOf(view, g.panel) ? formButton(g, 'limit', t`From its sheet`, '') : nothing}
    ${g.state === 'held' ? html`<button type="button" class="act" data-testid="refuse" @click=${() => openSheet('refuse', { panel: g.panel, why: g.text, english: g.english?.text ?? g.text })}>Owner's choice</button>` : nothing}${letPass(view, g)}</div>`,
  answers: questions,
  signs,
  trials: (view, g) => html`${title(g)}<div class="acts">${formButton(g, 'trial', t`Write a strip down`)}${letPass(view, g)}</div>`,
  paint: (view, g) => html`${title(g)}<div class="acts">${formButton(g, 'paint', t`Write the paint down`)}${letPass(view, g)}</div>`,
  patch: (view, g) => html`${title(g)}<div class="acts">${patchOn(view, g.panel) ? formButton(g, 'patch-off', t`Look at the patches`) : formButton(g, 'patch-on', t`Patches are on`)}${letPass(view, g)}</div>`,
  heat: (view, g) => html`${title(g)}<div class="acts"><button type="button" class="act go" data-testid="pace" @click=${() => openSheet('pace', { panel: g.panel })}>Pace the gun</button>
    ${formButton(g, 'heat', t`Without pacer`, '')}
    <button type="button" class="act" data-testid="heat-not-measured" @click=${() => write({ log: ofJob(view.id), kind: 'heat', body: { panel: g.panel, answer: 'not-measured' } }, t`Noted: ${where(g)}, heat not measured.`)}>Not measured</button>${letPass(view, g)}</div>`,
  edges,
  count: (view, g) => html`${title(g)}<div class="acts">${formButton(g, 'risen', t`Count them`)}${photoButton(view, '')}${letPass(view, g)}</div>`,
};

/** By another hand: what must stay free and every moving gap one by one, then
 * the edges; a pin is closed by whoever did it again. @param {any} view @param {any} g */
function edges(view, g) {
  const pin = g.cause === 'edge-pin' && (view.findings ?? []).find((/** @type {any} */ f) => f.walk === 'edges' && !f.answer && (!f.panel || f.panel === g.panel));
  if (pin) return html`${title(g)}<div class="acts"><button type="button" class="act go" data-testid="pin-redone" @click=${() => answerFinding(view, pin, 'redone', findingName(view, pin))}>Done again</button>${letPass(view, g)}</div>`;
  const [what, feature] = (g.cause ?? '').split(':');
  const [yes, no] = (looks[what] ?? []).map(tr);
  const say = (/** @type {boolean} */ passed, /** @type {string} */ word) => write({ log: ofJob(view.id), kind: 'evidence', body: { what, panel: g.panel, feature, passed } }, t`Noted: ${word.toLowerCase()}.`);
  return yes ? html`${title(g)}<div class="acts"><button type="button" class="act go" data-testid="look:${feature}" @click=${() => say(true, yes)}>${yes}</button>
      <button type="button" class="act" data-testid="look:${feature}:no" @click=${() => say(false, no)}>${no}</button>${letPass(view, g)}</div>`
    : html`${title(g)}<div class="acts">${g.state === 'open' ? ticked(view, g) : nothing}
      <button type="button" class="act low" data-testid="edge-pin" @click=${() => openSheet('finding', { panel: g.panel, walk: 'edges' })}>Found something</button>${letPass(view, g)}</div>`;
}

/** @type {Record<string, [string, string]>} */
const looks = { 'blade-line': ['No blade in the paint', 'Cut into the paint'], 'keep-clear': ['Stays free', 'Film is on it'], 'gap-cut': ['Cut, both lips heated', 'Not cut'] };

/** One question after the other; 'unknown' is an answer.
 * @param {any} view @param {any} g @param {any} stage */
function questions(view, g, stage) {
  const q = (stage.asks ?? []).find((/** @type {any} */ x) => !x.answer);
  if (!q) return nothing;
  const say = (/** @type {string} */ answer) => write({ log: ofJob(view.id), kind: 'asked', body: { what: q.key, answer } }, t`Noted: ${tr(answer)}.`);
  return html`<h2>${q.text}</h2><div class="acts">${[...q.choices, 'unknown'].map((/** @type {string} */ c) => html`<button type="button" class="act" data-testid="asked:${q.key}:${c}"
    @click=${() => say(c)}>${tr(c)}</button>`)}${letPass(view, g)}</div>`;
}

/** A paper with its one plain sentence, and who has not signed it yet.
 * @param {any} view @param {any} g @param {any} stage */
function signs(view, g, stage) {
  if (g.cause === 'early-release') return html`${title(g)}<div class="acts"><button type="button" class="act go" data-testid="paper-early" @click=${() => openSheet('sign', { as: 'owner', what: g.cause })}>Owner takes it early: signs</button></div>`;
  const what = stage.what || stage.key, signed = (view.signatures ?? []).filter((/** @type {any} */ s) => s.what === what).map((/** @type {any} */ s) => s.as);
  return html`${title(g)}<div class="acts">${(stage.signers ?? []).filter((/** @type {string} */ as) => !signed.includes(as)).map((/** @type {string} */ as) => html`<button type="button" class="act go"
    data-testid="paper-${as}" @click=${() => openSheet('sign', { as, what })}>${t`${signerWord[as] ?? as} signs`}</button>`)}${letPass(view, g)}</div>`;
}

/** @param {any} view @param {any} g */
export const letPass = (view, g, how = 'act low', id = 'waive') => (g.waivable
  ? html`<button type="button" class=${how} data-testid=${id} @click=${() => openSheet('goahead', { gate: g })}>${barred('waiver') === '' ? t`Let it pass, by PIN` : t`Let it pass as lead`}</button>` : nothing);

/** @param {any} view @param {any} spot @param {any} g */
const readSpot = (view, spot, g) => html`<h2>${spot.last ? t`Read at the tape dot` : t`Stick tape dot ${spot.id} there and read it`}</h2><div class="acts">
  <button type="button" class="act go" data-testid="read:${spot.id}" @click=${() => openSheet('pad', { what: 'spot', job: view.id, spot })}>
    <span class="dot big">${spot.id}</span><span>${spot.name}</span></button>
  <button type="button" class="act" data-testid="not-measured" @click=${() => notMeasured(view, spot)}>Not measured</button>${letPass(view, g)}</div>`;

/** The walk round: what was seen, and who has not signed yet. @param {any} view @param {any} g @param {any} stage */
function walk(view, g, stage) {
  const signed = signedOn(view, walkOf(view)).map((/** @type {any} */ s) => s.as);
  const open = (view.findings ?? []).find((/** @type {any} */ f) => !f.answer);
  if (open && signed.includes('owner')) {
    const name = findingName(view, open);
    return html`<h2>${t`${name}: owner says`}</h2><div class="acts">${needs('finding.owner')}${barred('finding.owner') ? nothing : answers.map(([key, word]) => html`<button type="button" class="act"
      @click=${() => answerFinding(view, open, key, name)}>${tr(word)}</button>`)}${letPass(view, g)}</div>`;
  }
  return html`<h2>${g.name}</h2><div class="acts">
    <button type="button" class="act" @click=${() => openSheet('finding', {})}>Found something</button>
    ${(stage.signers ?? []).filter((/** @type {string} */ as) => !signed.includes(as)).map((/** @type {string} */ as) => html`<button type="button" class="act go" data-testid="walk-${as}" @click=${() => openSheet('sign', { as })}>
      ${walkWord['sign-' + as] ?? as}</button>`)}${letPass(view, g)}</div>`;
}

/** A step that a test closes. @param {any} view @param {any} stage @param {any} g */
function test(view, stage, g) {
  const what = stage.what || stage.key;
  return html`<h2>${stage.name}</h2><div class="acts">
    ${what in forms ? formButton(g, what, t`Write the test down`) : html`<button type="button" class="act go" data-testid="evidence-now:${stage.key}" @click=${() => openSheet('evidence', { what, title: stage.name })}>Write the test down</button>`}
    ${letPass(view, g)}</div>`;
}

/** The three answers to a step; laying has a beginning too. @param {any} view @param {any} g */
export const ticks = (view, g) => html`${title(g)}<div class="acts">${ticked(view, g)}${g.waived ? nothing : letPass(view, g)}</div>`;

/** @param {any} view @param {any} g */
function ticked(view, g) {
  const id = 'tick:' + g.stage + (g.panel ? ':' + g.panel : '');
  return html`
    ${g.stage === 'lay' && g.cause !== 'lay-begun' ? html`<button type="button" class="act" data-testid="begin:${g.stage}:${g.panel}" @click=${() => tick(view, g, 'started', t`Laying begins`)}>Laying begins</button>` : nothing}
    ${g.stage === 'trim' ? [['', 'tape'], [':knife', 'knife']].map(([end, how]) => html`<button type="button" class="act go" data-testid=${id + end} @click=${() => tick(view, g, 'done', finishedWord(g), how)}>${t`${finishedWord(g)}, by ${tr(how)}`}</button>`)
      : html`<button type="button" class="act go" data-testid=${id} @click=${() => tick(view, g, 'done', finishedWord(g))}>${finishedWord(g)}</button>`}
    <button type="button" class="act" data-testid="${id}:not-done" @click=${() => tick(view, g, 'not-done', t`Noted: not done`)}>Not done</button>
    <button type="button" class="act" data-testid="${id}:from-memory" @click=${() => tick(view, g, 'from-memory', t`Noted from memory`)}>From memory</button>`;
}

/** @param {any} view @param {any} g @param {string} answer @param {string} words @param {string} [how] */
export function tick(view, g, answer, words, how = '') {
  const body = { stage: g.stage, panel: g.panel || '', zone: g.zone || '', answer, ...(how ? { how } : {}) };
  return write({ log: ofJob(view.id), kind: 'tick', body }, words + (where(g) ? ', ' + where(g) : '') + '.');
}

/** @param {any} view @param {any} spot */
const notMeasured = (view, spot) => write(
  { log: ofJob(view.id), kind: 'reading', body: { values: [{ spot: spot.id, surface: 0 }], instrument: '', answer: 'not-measured', typed: '' } },
  t`Noted: ${spot.name} not measured.`);
