// @ts-check
// What spoiled it: one tap, no question, no blame, and thanks for saying so.
// Only where several panels are wiped does it ask which one.

import { html, nothing, t } from '../tongue.js';
import { clock, marks } from '../marks.js';
import { app, closeSheet, job, now, openSheet, paint } from './app.js';
import { ofJob, ofPlace, write } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';
import { holdButton } from './hold.js';
import { shape } from './shapes.js';
import { oftenSpoiled, spoiledShape } from './words.js';

/** @param {any} view the job */
export function setbacks(view) {
  const list = view.setbacks ?? [];
  if (!list.length || view.closed) return nothing;
  const often = oftenSpoiled.flatMap((cause) => list.filter((/** @type {any} */ s) => s.cause === cause));
  const rest = list.filter((/** @type {any} */ s) => !oftenSpoiled.includes(s.cause));
  return html`<section class="lap" aria-labelledby="spoil-title">
    <h2 id="spoil-title">Something happened? One tap.</h2>
    ${(view.ongoing ?? []).map((/** @type {any} */ e) => html`<p class="row wrap going"><span class="grow"><b>${e.name}</b> since ${clock(e.since, view.shop, now(view))}</span>
      <button type="button" class="press" data-testid="ended:${e.cause}" @click=${() => end(view, e)}>It ended</button></p>`)}
    <div class="choice glove">${holdButton(view, () => openSheet('hold'))}${often.map((s) => button(view, s))}</div>
    ${rest.length ? html`<details data-testid="setbacks-more"><summary>Something else</summary>
      <div class="choice glove">${rest.map((/** @type {any} */ s) => button(view, s))}</div></details>` : nothing}
  </section>`;
}

/** @param {any} view @param {any} s */
const button = (view, s) => html`<button type="button" class="press iced" data-testid="setback:${s.cause}" @click=${() => happened(view, s)}>${shape(spoiledShape[s.cause])}<span>${s.name}</span></button>`;

/** @param {any} view @param {any} s */
function happened(view, s) {
  if (s.where !== 'panel' && s.where !== 'spot') return spoil(view, s);
  const panels = view.panels ?? [];
  const wiped = panels.filter((/** @type {any} */ p) => p.wipe?.state === 'good');
  if (wiped.length > 1 || (!wiped.length && panels.length && s.cause !== 'touched')) return openSheet('which', { setback: s });
  return spoil(view, s, [wiped[0]?.id ?? view.gate?.panel].filter(Boolean));
}

/** Which panel it was, or which: a whole side is touched at once. @param {any} s */
export function whichSheet(s) {
  const view = job(), on = (s.on ??= []);
  const here = [...(view.panels ?? [])].sort((a, b) => Number(b.wipe?.state === 'good') - Number(a.wipe?.state === 'good'));
  return sheet(t`${s.setback.name}: where?`, html`${refusal(app.refused)}
    <div class="acts"><button type="button" class="act go" ?disabled=${!on.length} data-testid="which-save" @click=${() => done(spoil(view, s.setback, on))}>Write it down</button></div>
    <div class="choice glove" role="group" aria-label="Where">
    ${here.map((p) => html`<button type="button" class="press" aria-pressed=${on.includes(p.id)} data-testid="which:${p.id}" @click=${() => { s.on = on.includes(p.id) ? on.filter((/** @type {string} */ x) => x !== p.id) : [...on, p.id]; paint(); }}>
      <span class="hang">${view.panels.indexOf(p) + 1}</span> ${p.name}</button>`)}
    <button type="button" class="press" data-testid="which:all" @click=${() => done(spoil(view, s.setback))}>Whole vehicle</button></div>`);
}

/** What happened to a panel, the vehicle or the air of the place it stands in.
 * @param {any} view @param {any} s @param {string[]} [panels] */
export function spoil(view, s, panels = []) {
  const thanks = t`Thanks, noted: ${s.name}. ${marks(s.say, view.shop, now(view))}`;
  const body = { cause: s.cause, from: 0, to: 0, note: '' };
  if (s.where === 'place' && view.place?.id) return write({ log: ofPlace(view.place.id), kind: 'place.event', body }, thanks);
  return write({ log: ofJob(view.id), kind: 'setback', body: { ...body, panels, zones: [] } }, thanks);
}

/** @param {Promise<boolean>} writing */
async function done(writing) {
  if (await writing) closeSheet();
}

/** What went on has ended: door shut, heater off. @param {any} view @param {any} e */
const end = (view, e) => write(
  { log: ofPlace(e.place || view.place.id), kind: 'place.event', body: { cause: e.cause, from: 0, to: Math.round(now(view)), note: '' } },
  t`Thanks, noted: ${e.name} ended.`);
