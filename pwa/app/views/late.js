// @ts-check
// A job card that hands wrote on while the phones failed, entered afterwards.
// Whose initials stand there and when it was are touched once and hold for the
// lines that follow; then steps, panels and readings are touched in a row. Each
// line carries both times, and the typed one opens nothing until the lead says
// that it is right.

import { html, nothing, t, tr } from '../tongue.js';
import { clock, fromField, marks } from '../marks.js';
import { app, home, job, now, openSheet, paint } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { where } from './answer.js';
import { refusal } from './dock.js';
import { was } from './lines.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';
import { finishedWord, jobWord } from './words.js';

/** The card at hand: the moment as a field shows it, and what was written from
 * it, with its time. @type {{job: string, at: string, done: Record<string, string>, first: string}} */
let card = { job: '', at: '', done: {}, first: '' };

export function lateScreen() {
  const view = job();
  if (!view) return html`<main class="screen stack"><h1 tabindex="-1">From the card</h1><p class="lap fact">${jobWord.looking}</p><a class="press" href="#/">${jobWord.all}</a></main>`;
  if (card.job !== view.id) card = { job: view.id, at: '', done: {}, first: '' };
  card.first ||= home()?.me?.id ?? '';
  return html`
    <header class="top"><a class="press plain" href="#/job/${view.id}" aria-label="Back to the vehicle">${shape('back')}</a><h1 tabindex="-1">${t`From the card: ${view.label}`}</h1>${netMark(view)}</header>
    <main class="screen narrow stack" data-testid="late">
      <p class="fact">A typed time opens nothing sooner until the lead adopts it.</p>
      <section class="lap stack" aria-labelledby="late-when"><h2 id="late-when">It was at</h2>
        <label class="field"><span>Day and clock, as on the card</span><input type="datetime-local" data-testid="late-at" .value=${card.at} @input=${(/** @type {any} */ e) => { card.at = e.target.value; paint(); }}></label>
        ${card.at ? html`<div class="choice glove">${[5, 15, 60].map((min) => html`<button type="button" class="press" data-testid="late-on:${min}" @click=${() => on(min)}>${t`${min} min on`}</button>`)}</div>` : nothing}
        <h2>Whose initials?</h2>
        <div class="people">${(home()?.people ?? []).map((/** @type {any} */ p) => html`<button type="button" class="press" data-testid="late-by:${p.initials}" aria-pressed=${home()?.me?.id === p.id} @click=${() => hand(p.id)}><b>${p.initials}</b><span>${p.name}</span></button>`)}</div>
      </section>
      ${app.sheet ? nothing : refusal(app.refused)}
      ${(view.stages ?? []).filter((/** @type {any} */ s) => !s.free && s.state !== 'done').map((/** @type {any} */ s) => step(view, s))}
      <section class="lap stack" aria-labelledby="late-read"><h2 id="late-read">Readings</h2><div class="choice glove">
        ${view.place?.id ? html`<button type="button" class="press" data-testid="late-air" @click=${() => asked('pad', { what: 'climate', place: view.place })}>${t`Air, ${view.place.name}`}</button>` : nothing}
        ${(view.spots ?? []).map((/** @type {any} */ s) => html`<button type="button" class="press" data-testid="late-read:${s.id}" @click=${() => asked('pad', { what: 'spot', job: view.id, spot: s })}><span class="dot">${s.id}</span> ${s.name}</button>`)}</div></section>
      ${written(view)}
    </main>`;
}

/** The moment, in the shop's time; 0 as long as nobody said it. */
const moment = () => fromField(card.at, home()?.shop ?? {}) || 0;

/** @param {number} min */
function on(min) {
  card.at = new Date(Date.parse(card.at + 'Z') + min * 60_000).toISOString().slice(0, 16);
  paint();
}

/** Lines are written in the name of who is tapped; whoever was before is again
 * when the card is put away. @param {string} person */
async function hand(person) {
  const answer = await app.shop.ask('me', { person });
  if (answer?.refused) refuse(answer.refused);
}

addEventListener('hashchange', () => {
  if (location.hash.startsWith('#/late/')) return;
  if (card.first && card.first !== home()?.me?.id) hand(card.first);
  card.first = '';
});

/** Whether it was said when; says so if not. */
function timed() {
  if (moment()) return true;
  refuse(t`Say when it was first.`);
  return false;
}

/** A step by its panels or zones: only what a hand ticks or writes down.
 * @param {any} view @param {any} s */
function step(view, s) {
  const form = { heat: 'heat', count: 'risen' }[/** @type {string} */ (s.proof)];
  const gates = (s.gates ?? []).filter((/** @type {any} */ g) => g.state !== 'done');
  if (s.tap === false && !form || !gates.length) return nothing;
  return html`<section class="lap stack" aria-label=${s.name}><h2>${s.name}</h2><div class="choice glove">${gates.map((/** @type {any} */ g) => form
    ? button(view, s, g, '', '', () => asked('form', { form, panel: g.panel ?? '' }))
    : ways(s).map(([answer, how]) => button(view, s, g, answer, how, () => tick(view, s, g, answer, how))))}</div></section>`;
}

/** What a hand may say of a step. @param {any} s @returns {[string, string][]} */
const ways = (s) => (s.key === 'lay' ? [['started', ''], ['done', '']] : s.key === 'trim' ? [['done', 'tape'], ['done', 'knife']] : [['done', '']]);

/** @param {any} s @param {string} answer @param {string} how */
const said = (s, answer, how) => (answer === 'started' ? t`Laying begins` : how ? t`${finishedWord(s)}, by ${tr(how)}` : finishedWord(s));

/** @param {any} g @param {string} answer @param {string} how */
const keyOf = (g, answer, how) => [g.stage, g.panel, g.zone, answer, how].filter(Boolean).join(':');

/** @param {any} view @param {any} s @param {any} g @param {string} answer @param {string} how @param {() => void} act */
function button(view, s, g, answer, how, act) {
  const at = card.done[keyOf(g, answer, how)];
  return html`<button type="button" class="press" data-testid="late:${keyOf(g, answer, how)}" @click=${act}>${at ? shape('done') : nothing}<span>${where(g) ? html`<b>${where(g)}</b> ` : nothing}${answer ? said(s, answer, how) : t`Write it down`}${at ? ' ' + at : ''}</span></button>`;
}

/** @param {any} view @param {any} s @param {any} g @param {string} answer @param {string} how */
async function tick(view, s, g, answer, how) {
  if (!timed()) return;
  const at = moment(), shown = clock(at, view.shop, now(view));
  const body = { stage: g.stage ?? s.key, panel: g.panel || '', zone: g.zone || '', answer, at, ...(how ? { how } : {}) };
  if (await write({ log: ofJob(view.id), kind: 'tick', body }, [said(s, answer, how), where(g), shown].filter(Boolean).join(', ') + '.')) {
    card.done[keyOf(g, answer, how)] = shown;
    paint();
  }
}

/** Opens a sheet whose line gets the moment. @param {string} name @param {any} with_ */
const asked = (name, with_) => { if (timed()) openSheet(name, { ...with_, late: moment() }); };

/** What was written down later, with the lead's word on its time. @param {any} view */
function written(view) {
  const list = (view.lines ?? []).filter((/** @type {any} */ l) => l.was && !l.struck);
  return list.length ? html`<section class="lap" aria-labelledby="late-lines"><h2 id="late-lines">Written down later</h2><ol class="lines">${list.map((/** @type {any} */ l) => html`<li>
    <p>${marks(l.text, view.shop, now(view))}${l.by ? ', ' + l.by : ''}</p>${was(view, l)}</li>`)}</ol></section>` : nothing;
}
