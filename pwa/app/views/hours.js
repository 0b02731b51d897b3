// @ts-check
// When somebody is there, and how large the bays are: what the plan and the
// porter's question before a move go by.

import { html, locale, nothing, t, words } from '../tongue.js';
import { app, home, paint } from './app.js';
import { ofShop, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';
import { inLine, unitsOf } from './units.js';

const MIN = 60_000;
/** @type {string[]} */
const days = words(['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday']);

/** @type {{week: number[], shut: string[], porter: number, places: any[]} | null} */
let known = null;
let asked = false, failed = false;

/** What is being changed. @type {{week: number[], shut: string[], porter: number}} */
let form = { week: [], shut: [], porter: 0 };
let date = '';
/** Measures as typed, by place and field. @type {Map<string, string>} */
const typed = new Map();

function ask() {
  if (asked) return;
  asked = true;
  fetch('/hours').then(async (r) => {
    if (!r.ok) throw new Error(String(r.status));
    known = await r.json();
    form = { week: [...(known?.week ?? [])], shut: [...(known?.shut ?? [])], porter: known?.porter ?? 0 };
    failed = false;
  }).catch(() => { failed = true; setTimeout(() => { asked = false; paint(); }, MIN / 4); }).then(paint);
}

const clock = (/** @type {number} */ ms) => `${String(Math.floor(ms / MIN / 60)).padStart(2, '0')}:${String((ms / MIN) % 60).padStart(2, '0')}`;
const ms = (/** @type {string} */ hhmm) => { const [h, m] = hhmm.split(':').map(Number); return (h * 60 + m) * MIN; };

/** What a place is measured by: field of its line, and the question. @type {Record<string, string>} */
const measures = words({ length: 'Longest that can stand', height: 'Highest that can stand', door: 'Clear height of the door' });

export function hoursScreen() {
  const view = home();
  ask();
  return html`
    <header class="top"><a class="press plain" href="#/setup" aria-label="The shop">${shape('back')}</a><h1 tabindex="-1">Hours and bays</h1>${netMark(view)}</header>
    <main class="screen narrow" data-testid="hours">
      ${failed ? html`<p class="caution">${shape('phone')}<span>The shop server cannot be reached. This needs it.</span></p>` : nothing}
      ${refusal(app.refused)}
      ${known ? html`
      <section class="lap stack" aria-labelledby="week-title"><h2 id="week-title">When somebody is there</h2>
        <ul class="plain-list held">${days.map((name, i) => dayRow(name, i * 2))}</ul>
        <label class="field"><span>The porter comes at</span><input type="time" data-testid="porter" .value=${form.porter ? clock(form.porter) : ''} @change=${(/** @type {any} */ e) => { form.porter = e.target.value ? ms(e.target.value) : 0; paint(); }}></label>
        <p class="small quiet">Vehicles are rolled in from then on.</p>
        <button type="button" class="press go wide" data-testid="week-save" @click=${saveHours}>Keep the hours</button></section>
      <section class="lap stack" aria-labelledby="shut-title"><h2 id="shut-title">Days that are shut besides</h2>
        ${form.shut.map((d) => html`<p class="row wrap"><span class="grow">${new Date(d + 'T12:00').toLocaleDateString(locale(), { weekday: 'short', day: 'numeric', month: 'short', year: 'numeric' })}</span>
          <button type="button" class="press" data-testid="unshut:${d}" @click=${() => { form.shut = form.shut.filter((x) => x !== d); return saveHours(); }}>Open after all</button></p>`)}
        <label class="field"><span>A day</span><input type="date" data-testid="shut-day" .value=${date} @input=${(/** @type {any} */ e) => { date = e.target.value; }}></label>
        <button type="button" class="press wide" data-testid="shut-save" @click=${shut}>Shut on that day</button></section>
      ${known.places.filter((p) => p.sort === 'bay').map(bay)}
      <p class="small quiet">What nobody measured stops no vehicle.</p>` : nothing}
    </main>`;
}

/** One day of the week. @param {string} name @param {number} i of its opening */
function dayRow(name, i) {
  const open = form.week[i] < form.week[i + 1];
  const input = (/** @type {number} */ k, /** @type {string} */ what) => html`<label class="field grow"><input type="time" aria-label="${name}, ${what === 'from' ? t`from` : t`to`}" data-testid="${what}:${name}" .value=${clock(form.week[k])} @change=${(/** @type {any} */ e) => { if (e.target.value) { form.week[k] = ms(e.target.value); paint(); } }}></label>`;
  return html`<li><div class="stack" role="group" aria-label=${name}><div class="row"><span class="grow">${name}</span>
    <button type="button" class="press" aria-pressed=${!open} data-testid="shut:${name}" @click=${() => { [form.week[i], form.week[i + 1]] = open ? [0, 0] : [7.5 * 60 * MIN, 17 * 60 * MIN]; paint(); }}>shut</button></div>
    ${open ? html`<div class="row wrap hours">${input(i, 'from')}${input(i + 1, 'to')}</div>` : nothing}</div></li>`;
}

async function saveHours() {
  for (let i = 0; i < 14; i += 2) if (form.week[i] > form.week[i + 1]) return refuse(t`${days[i / 2]} shuts before it opens. Check both times.`);
  await write({ log: ofShop(), kind: 'shop.hours', body: { week: form.week, shut: form.shut, porter: form.porter } }, t`Kept: the plan goes by these hours.`);
  paint();
}

function shut() {
  if (!date) return refuse(t`Choose the day first.`);
  form.shut = [...new Set([...form.shut, date])].sort();
  date = '';
  return saveHours();
}

/** How large a bay is. @param {any} p */
function bay(p) {
  const unit = unitsOf('m')[0], size = inLine('1', 'm', unit);
  const value = (/** @type {string} */ key) => typed.get(p.place + key) ?? (p[key] ? String(Math.round((p[key] / size) * 100) / 100) : '');
  return html`<section class="lap stack" aria-label=${p.name}><h2 class="tape">${p.name}</h2>
    ${Object.entries(measures).map(([key, label]) => html`<label class="field"><span>${label}, ${unit}</span><input inputmode="decimal" autocomplete="off" data-testid="${key}:${p.name}" .value=${value(key)} @input=${(/** @type {any} */ e) => { typed.set(p.place + key, e.target.value); }}></label>`)}
    <button type="button" class="press wide" data-testid="measures:${p.name}" @click=${() => saveBay(p, value)}>Keep its size</button></section>`;
}

/** @param {any} p @param {(key: string) => string} value */
async function saveBay(p, value) {
  const body = { place: p.place, name: p.name, sort: p.sort, order: p.order, length: p.length, height: p.height, door: p.door };
  for (const [key, label] of Object.entries(measures)) {
    const text = value(key).trim().replace(',', '.');
    const n = text === '' ? 0 : inLine(text, 'm', unitsOf('m')[0]);
    if (!(n >= 0)) return refuse(t`${label}: type it as a number, such as 7.5.`);
    body[/** @type {'length'} */ (key)] = n;
  }
  if (!(await write({ log: ofShop(), kind: 'place.add', body }, t`Noted: size of ${p.name}.`))) return;
  Object.assign(p, body);
  for (const key in measures) typed.delete(p.place + key);
  paint();
}
