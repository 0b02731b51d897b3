// @ts-check
// Paces the hot gun along a measured length: a dot moves as the nozzle should,
// with a click at every inch. A call, a lock of the screen or a reload only
// pauses it: how far it came is kept on the phone until it is a line.

import { html, svg, nothing, t, tr } from '../tongue.js';
import { app, closeSheet, job, paint } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { keypad } from './pad.js';
import { sheet } from './sheet.js';
import { click } from './signals.js';
import { inLine, shown, unitsOf } from './units.js';
import { emissivities, instruments, paceWord } from './words.js';

/** An inch in micrometres, and in how many seconds the nozzle passes it: 2 to 3
 * (common practice, no source). */
const INCH = 25_400;
const paces = [2000, 2500, 3000];

/** @typedef {{job: string, panel: string, name: string, total: number, per: number, ran: number, since: number,
 *   films: number[], rivets: number, guns: number}} Run ran: ms before the last start; since: when that was, 0 while paused */

/** @type {Run | null} the one run that this page knows */
let run = null;
/** Jobs whose draft was looked for. @type {Set<string>} */
const looked = new Set();

const draft = (/** @type {string} */ id) => 'pace:' + id;

/** How long the gun ran, in ms. @param {Run} r */
const ran = (r) => Math.min(r.ran + (r.since ? performance.now() - r.since : 0), (r.total / INCH) * r.per);

/** How far it came, in micrometres. @param {Run} r */
const come = (r) => Math.round((ran(r) / r.per) * INCH);

/** Keeps how far it came. */
function keep() {
  if (run) app.shop.ask('draft', { name: draft(run.job), set: { ...run, ran: ran(run), since: 0 } }).catch(() => {});
}

function forget() {
  if (run) app.shop.ask('draft', { name: draft(run.job) }).catch(() => {});
  run = null;
}

/** Looks once for what a page before this one left of this job. @param {string} id */
async function find(id) {
  if (looked.has(id)) return;
  looked.add(id);
  const left = await app.shop.ask('draft', { name: draft(id), get: true }).catch(() => null);
  if (left?.total && !run) { run = left; paint(); }
}

/** A run that was broken off, above the steps. @param {any} view */
export function gunLeft(view) {
  find(view.id);
  if (!run || run.job !== view.id || app.sheet) return nothing;
  const panel = run.panel;
  return html`<p class="away" data-testid="gun-left"><span class="grow">${paceWord.left(shown(come(run), 'm'), shown(run.total, 'm'))}</span>
    <button type="button" class="press" data-testid="gun-on" @click=${() => { app.sheet = { name: 'pace', panel }; paint(); }}>${paceWord.goOn}</button></p>`;
}

/** @param {any} s panel */
export function paceSheet(s) {
  const view = job(), panel = view.panels.find((/** @type {any} */ p) => p.id === s.panel);
  const inner = s.pad ? number(s, view) : run && run.job === view.id && run.panel === s.panel ? running(s, view, run) : choose(s, view);
  return sheet(html`${paceWord.title}: ${panel?.name ?? ''}`, inner);
}

/** What is to be heated: what was measured there, or a length by the pad.
 * @param {any} s @param {any} view */
function choose(s, view) {
  const list = (view.features ?? []).filter((/** @type {any} */ f) => f.panel === s.panel && f.length > 0);
  const before = (view.heats ?? []).filter((/** @type {any} */ h) => h.panel === s.panel).reduce((/** @type {number} */ n, /** @type {any} */ h) => n + h.length, 0);
  const all = list.reduce((/** @type {number} */ n, /** @type {any} */ f) => n + f.length, 0);
  const left = Math.max(0, all - before);
  return html`${before ? html`<p>${paceWord.before(shown(before, 'm'), shown(all, 'm'))}</p>` : nothing}${refusal(app.refused)}
    <div class="choice glove">
      ${left ? html`<button type="button" class="press" data-testid="pace:all" @click=${() => begin(s, view, left, paceWord.all)}>${paceWord.all}, ${shown(left, 'm')}</button>` : nothing}
      ${list.length > 1 ? list.map((/** @type {any} */ f) => html`<button type="button" class="press" data-testid="pace:${f.id}" @click=${() => begin(s, view, f.length, f.name || f.id)}>${tr(f.name || f.id)}, ${shown(f.length, 'm')}</button>`) : nothing}
      <button type="button" class="press" data-testid="pace:other" @click=${() => pad(s, 'm')}>${paceWord.other}</button></div>
    <div class="row wrap" role="group" aria-label=${paceWord.pace}>${paces.map((ms) => html`<button type="button" class="press" aria-pressed=${(s.per ?? 2500) === ms} data-testid="pace-${ms}"
      @click=${() => { s.per = ms; paint(); }}>${paceWord.inch(ms / 1000)}</button>`)}</div>`;
}

/** @param {any} s @param {any} view @param {number} total @param {string} name */
function begin(s, view, total, name) {
  run = { job: view.id, panel: s.panel, name, total, per: s.per ?? 2500, ran: 0, since: 0, films: [], rivets: 0, guns: 1 };
  keep();
  paint();
}

/** @param {any} s @param {any} view @param {Run} r */
function running(s, view, r) {
  const rivets = (view.features ?? []).some((/** @type {any} */ f) => f.panel === s.panel && f.sort === 'rivets');
  const ended = come(r) >= r.total;
  return html`<p class="word pace-word"><span class="digits" data-testid="gun-come">${shown(come(r), 'm')}</span> <span>${paceWord.of(shown(r.total, 'm'))}</span></p>
    <svg class="gun" viewBox="0 0 320 48" role="img" aria-label=${paceWord.dot}><path d="M16 24H304"/>${Array.from({ length: 12 }, (_, i) => svg`<path d="M${16 + i * 288 / 11} 16v16"/>`)}<circle id="gun-dot" cx="16" cy="24" r="14"/></svg>
    ${r.films.length ? html`<p data-testid="gun-films">${paceWord.read} ${r.films.map((t) => shown(t, 'temp')).join(', ')}</p>` : nothing}
    ${refusal(app.refused)}
    <div class="acts">${ended ? nothing : r.since ? html`<button type="button" class="act" data-testid="gun-pause" @click=${pause}>${paceWord.pause}</button>`
      : html`<button type="button" class="act go" data-testid="gun-go" @click=${go}>${r.ran ? paceWord.goOn : paceWord.go}</button>`}
      <button type="button" class="act" data-testid="gun-film" @click=${() => pad(s, 'temp')}>${paceWord.film}</button></div>
    ${rivets ? html`<div class="row wrap"><span class="grow fact" data-testid="gun-rivets">${r.rivets} ${paceWord.rivets}</span>${[1, 10].map((n) => html`<button type="button" class="press" data-testid="rivet-${n}"
      @click=${() => { r.rivets += n; keep(); paint(); }}>+${n}</button>`)}</div>` : nothing}
    <div class="row wrap" role="group" aria-label=${paceWord.guns}>${[1, 2, 3].map((n) => html`<button type="button" class="press" aria-pressed=${r.guns === n} data-testid="guns-${n}"
      @click=${() => { r.guns = n; keep(); paint(); }}>${n === 1 ? t`1 gun` : t`${n} guns`}</button>`)}</div>
    ${r.since ? nothing : html`<div class="acts"><button type="button" class="act" data-testid="gun-part" @click=${() => save(view, r, 'part')}>${paceWord.part}</button>
      <button type="button" class="act ${ended ? 'go' : ''}" data-testid="gun-done" @click=${() => save(view, r, 'done')}>${paceWord.done}</button>
      <button type="button" class="act" data-testid="gun-not" @click=${() => { forget(); closeSheet(); }}>${paceWord.not}</button></div>`}`;
}

/** Opens the pad for a length or for a film reading. @param {any} s @param {string} of */
function pad(s, of) {
  pause();
  s.pad = of; s.typed = ''; s.unit = unitsOf(of)[0];
  s.ok = () => typed(s);
  s.instrument ??= localStorage.getItem('instrument') ?? '';
  s.emissivity ??= localStorage.getItem('emissivity') ?? '0.95';
  paint();
}

/** @param {any} s @param {any} view */
const number = (s, view) => html`<h3 class="fact">${s.pad === 'm' ? paceWord.far : paceWord.behind}</h3>${refusal(app.refused)}
  <div class="pad" data-testid="pad"><div class="row wrap" role="group" aria-label="Unit">${unitsOf(s.pad).map((u) => html`<button type="button" class="press unit" aria-pressed=${s.unit === u} data-testid="unit-${u}" @click=${() => { s.unit = u; paint(); }}>${u}</button>`)}
    ${s.pad === 'temp' ? instruments.map(([key, word]) => html`<button type="button" class="press" aria-pressed=${s.instrument === key} data-testid="by-${key}" @click=${() => { s.instrument = key; localStorage.setItem('instrument', key); paint(); }}>${tr(word)}</button>`) : nothing}</div>
    ${s.pad === 'temp' && s.instrument === 'infrared' ? html`<div class="row wrap" role="group" aria-label="Emissivity set on the instrument">${emissivities.map((e) => html`<button type="button" class="press" aria-pressed=${s.emissivity === e}
      data-testid="emissivity-${e}" @click=${() => { s.emissivity = e; localStorage.setItem('emissivity', e); paint(); }}>${e}</button>`)}</div>` : nothing}
    ${keypad(s, s.pad === 'm' ? paceWord.far : paceWord.behind, s.unit, false)}
    <div class="acts"><button type="button" class="act" data-testid="pad-back" @click=${() => { s.pad = ''; s.ok = undefined; paint(); }}>${paceWord.notRead}</button>
      <button type="button" class="act go" data-testid="pad-ok" @click=${() => typed(s)}>Write it down</button></div></div>`;

/** @param {any} s */
function typed(s) {
  const value = inLine(s.typed, s.pad, s.unit);
  if (Number.isNaN(value) || (s.pad === 'm' && value <= 0)) return refuse(t`Type the number first.`);
  app.refused = '';
  const of = s.pad;
  s.pad = ''; s.ok = undefined;
  if (of === 'm') return begin(s, job(), value, paceWord.other);
  run?.films.push(value);
  keep();
  paint();
}

/** @type {ReturnType<typeof setInterval> | undefined} */
let beat;

function go() {
  if (!run || run.since) return;
  run.since = performance.now();
  app.gun = true;
  let inch = Math.floor(come(run) / INCH), kept = performance.now();
  beat = setInterval(() => {
    if (!run?.since) return;
    if (!app.sheet || app.sheet.name !== 'pace') return pause();
    const far = come(run), now = Math.floor(far / INCH);
    document.getElementById('gun-dot')?.setAttribute('cx', (16 + 288 * ((far % (12 * INCH)) / (12 * INCH))).toFixed(1));
    if (now !== inch) { inch = now; click(); paint(); }
    if (performance.now() - kept > 2000) { kept = performance.now(); keep(); }
    if (far >= run.total) { click(440); pause(); }
  }, 50);
  paint();
}

export function pause() {
  clearInterval(beat);
  app.gun = false;
  if (!run?.since) return;
  run.ran = ran(run);
  run.since = 0;
  keep();
  paint();
}

document.addEventListener('visibilitychange', () => { if (document.hidden) pause(); });
addEventListener('pagehide', pause);

/** @param {any} view @param {Run} r @param {string} answer */
async function save(view, r, answer) {
  const s = app.sheet;
  const body = { panel: r.panel, length: come(r), took: Math.round(ran(r)), guns: r.guns, rivets: r.rivets, films: r.films, answer,
    instrument: r.films.length ? s?.instrument ?? '' : '', emissivity: r.films.length && s?.instrument === 'infrared' ? Math.round(Number(s.emissivity) * 100_000) : 0 };
  if (!body.length && !body.rivets) return refuse(paceWord.nothing);
  if (await write({ log: ofJob(view.id), kind: 'heat', body }, paceWord.noted(shown(r.total && body.length, 'm')))) { forget(); closeSheet(); }
}
