// @ts-check
// What the lead asks the shop server: plan, night, alarms, closing walk. The
// last answer is kept on this phone and says how old it is; the gates need none
// of it.

import { html, nothing } from '../vendor/lit-html.js';
import { clock, marks } from '../marks.js';
import { home, now, paint } from './app.js';
import { shape } from './shapes.js';
import { leadWord } from './words.js';

const KEPT = 'lead';
const OFTEN = 20_000; // ms between two questions

/** @type {any} */
let answer;
let asked = -OFTEN, asking = false, failed = false;

/** The last answer; a new one is fetched beside it when that one is old. */
export function lead() {
  if (answer === undefined) {
    try { answer = JSON.parse(localStorage.getItem(KEPT) ?? 'null'); } catch { answer = null; }
  }
  if (!asking && performance.now() - asked >= OFTEN && document.visibilityState === 'visible') ask();
  return answer;
}

async function ask() {
  asking = true;
  try {
    const response = await fetch('/lead');
    if (!response.ok) throw new Error(String(response.status));
    const text = await response.text();
    answer = JSON.parse(text);
    failed = false;
    try { localStorage.setItem(KEPT, text); } catch { /* it is fetched again */ }
  } catch {
    failed = true;
  }
  asked = performance.now();
  asking = false;
  paint();
}

/** Says that an answer is an old one. @param {any} a @param {any} view */
export const age = (a, view) => (failed && a ? html`<p class="caution">${shape('phone')}<span>${leadWord.asOf(clock(a.at, view?.shop ?? {}, now(view)))}</span></p>` : nothing);

/** What stands in the place of an answer. */
export const none = () => html`<p class="lap fact">${failed ? leadWord.noSignal : leadWord.asking}</p>`;

/** A sentence in the shop's zone and units. @param {string} text */
export const told = (text) => { const view = home(); return marks(text, view?.shop ?? {}, now(view)); };

/** What is worth a call now. It lies over the foot of the board, so that nothing
 * moves when it comes. */
export function alarms() {
  const all = answer?.alarms ?? [];
  return all.length ? html`<div class="alarms" role="alert">${all.map((/** @type {any} */ a) => html`<details class="alarm" data-testid="alarm:${a.kind}">
    <summary>${shape('first')}<span><b>${leadWord.alarm[a.kind]}</b> ${told(a.risk)}</span></summary><p>${told(a.say)} <b>${told(a.act)}</b></p></details>`)}</div>` : nothing;
}

/** The night in one line for each bay, and when gates may open: under the bays,
 * for the same reason. */
export function below() {
  if (!answer) return nothing;
  return html`
    ${answer.nights.length ? html`<section class="lap"><h2>${leadWord.night}</h2><ul class="nights">${answer.nights.map((/** @type {any} */ n) => html`<li data-testid="night"><b class="tape">${n.name}</b> ${told([n.say, ...n.costs].join(' '))}</li>`)}</ul></section>` : nothing}
    ${answer.told.length ? html`<section class="lap"><h2>${leadWord.opens}</h2><ul class="nights">${answer.told.map((/** @type {any} */ t) => html`<li data-testid="told"><b>${t.label} ${leadWord.stage(t.stage)}${t.zone ? `, ${t.zone}` : ''}:</b>
      ${told(t.say)}${t.next > Math.max(t.about, t.early) ? ` ${leadWord.next(told(`⟨t:${t.next}⟩`))}` : ''} <span class="quiet">${told(t.assumes)}</span></li>`)}</ul></section>` : nothing}`;
}

/** Where the lead's screens are. */
export const ways = () => html`<nav class="ways" aria-label="For the lead"><a class="press" href="#/plan">${leadWord.plan}</a><a class="press" href="#/walk">${leadWord.walk}</a></nav>`;

/** What the server said of moves, by vehicle. @type {Map<string, {at: number, places: Record<string, any>}>} */
const moves = new Map();

/** Asks beforehand whether a vehicle may go into each bay, so that the answer
 * is there when the sheet opens and nothing moves under a finger. @param {string} job */
export function askMoves(job) {
  const m = moves.get(job);
  if (m && performance.now() - m.at < 60_000) return;
  moves.set(job, { places: m?.places ?? {}, at: performance.now() });
  fetch('/may/move?' + new URLSearchParams({ job })).then(async (r) => {
    if (r.ok) moves.set(job, { places: (await r.json()).places ?? {}, at: performance.now() });
  }).catch(() => {}); // without the shop server nothing stands there
}

/** May this vehicle go into that bay now, as of when the sheet opened.
 * @param {any} sheet @param {string} job @param {any} place */
export function may(sheet, job, place) {
  const m = (sheet.may ??= moves.get(job)?.places ?? {})[place.id];
  if (!m) return nothing;
  return html`<p class="small may" data-testid="may:${place.name}:${m.may}">${shape(leadWord.mayShape[m.may] ?? 'unknown')}<span><b>${told(m.say)}</b> ${told(m.do)}${m.until ? ` ${leadWord.again} ${told(m.until)}` : ''}</span></p>`;
}
