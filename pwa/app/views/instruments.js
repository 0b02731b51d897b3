// @ts-check
// The register of instruments: what each can be off by, and when that was
// checked against what. A gate takes off the error that stood here when a
// reading was taken; a check that is too long ago is told, and stops nothing.

import { number } from '../marks.js';
import { html, locale, nothing, t } from '../tongue.js';
import { app, home, now, paint } from './app.js';
import { ofShop, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';
import { instrumentSorts } from './words.js';

const FRESH = 60_000; // ms between two questions

/** @typedef {{name: string, sort: string, error: number, rh_error: number, checked: number, against: string, serial: string, gone: boolean, due?: boolean}} Instrument */

/** @type {{at: number, failed: boolean, list: Instrument[] | null, heard: {name: string, place: string}[]}} */
const known = { at: -Infinity, failed: false, list: null, heard: [] };

function ask() {
  if (performance.now() - known.at < FRESH || document.visibilityState !== 'visible') return;
  known.at = performance.now();
  fetch('/register').then(async (r) => {
    if (!r.ok) throw new Error(String(r.status));
    const got = await r.json();
    known.list = got.instruments; known.heard = got.heard; known.failed = false;
  }).catch(() => { known.failed = true; }).then(paint);
}

const fresh = () => ({ name: '', sort: 'contact', error: '', rh: '', against: '', serial: '', checked: true });
let form = fresh();

/** What was typed at a check, by instrument. @type {Map<string, {error?: string, rh?: string, against?: string}>} */
const typed = new Map();

/** A difference of temperatures in the shop's unit, and back in mK. */
const unit = () => (home()?.shop?.units === 'F' ? { name: '°F', size: 5000 / 9 } : { name: 'K', size: 1000 });
const inUnit = (/** @type {number} */ mk) => number(Math.round((mk / unit().size) * 10) / 10);
const day = (/** @type {number} */ ms) => new Date(ms).toLocaleDateString(locale(), { day: 'numeric', month: 'short', year: 'numeric', timeZone: home()?.shop?.zone || undefined });
const milli = (/** @type {string} */ text, /** @type {number} */ size) => (/^(\d+\.?\d*|\.\d+)$/.test(text.trim().replace(',', '.')) ? Math.round(Number(text.trim().replace(',', '.')) * size) : NaN);

export function instrumentsScreen() {
  const view = home();
  ask();
  const list = [...(known.list ?? [])].sort((a, b) => Number(a.gone) - Number(b.gone) || a.name.localeCompare(b.name));
  return html`
    <header class="top"><a class="press plain" href="#/setup" aria-label="The shop">${shape('back')}</a><h1 tabindex="-1">Instruments</h1>${netMark(view)}</header>
    <main class="screen narrow" data-testid="instruments">
      ${known.failed ? html`<p class="caution">${shape('phone')}<span>The shop server cannot be reached. The register needs it.</span></p>` : nothing}
      ${refusal(app.refused)}
      ${list.map(one)}
      ${known.heard.length ? html`<section class="lap stack" aria-labelledby="heard-title"><h2 id="heard-title">Heard, and not in the register</h2>
        ${known.heard.map((h) => html`<p class="row wrap"><span class="grow"><b>${h.name}</b> ${h.place}</span>
          <button type="button" class="press" data-testid="heard:${h.name}" @click=${() => { form = { ...fresh(), name: h.name, sort: 'air' }; paint(); document.querySelector('[data-testid=instrument-name]')?.scrollIntoView({ block: 'center' }); }}>Enter it</button></p>`)}</section>` : nothing}
      <section class="lap stack" aria-labelledby="add-title"><h2 id="add-title">Add an instrument</h2>
        ${field(t`Name, as written on it`, 'instrument-name', form.name, (v) => { form.name = v; })}
        <div class="choice tight" role="group" aria-label="Kind of instrument">${Object.entries(instrumentSorts).map(([key, word]) => html`<button type="button" class="press" aria-pressed=${form.sort === key} data-testid="instrument-${key}"
          @click=${() => { form.sort = key; paint(); }}>${word}</button>`)}</div>
        ${errors(form.sort, form.error, form.rh, (key, v) => { form[key] = v; }, 'instrument')}
        ${field(t`Serial number, if it has one`, 'instrument-serial', form.serial, (v) => { form.serial = v; })}
        <button type="button" class="press" role="checkbox" aria-checked=${form.checked ? 'true' : 'false'} data-testid="instrument-checked" @click=${() => { form.checked = !form.checked; paint(); }}>${form.checked ? shape('done') : shape('bare')}<span>Checked today</span></button>
        ${form.checked ? field(t`Checked against`, 'instrument-against', form.against, (v) => { form.against = v; }) : nothing}
        <button type="button" class="press go wide" data-testid="instrument-save" @click=${add}>Enter it</button></section>
      <p class="small quiet">Thermometers: ice water is 0 °C. Hygrometers: wet table salt in a jar is 75 %. Common practice.</p>
    </main>`;
}

const off = (/** @type {Instrument} */ i) => `${inUnit(i.error)} ${unit().name}`;

/** @param {string} label @param {string} testid @param {string} value @param {(v: string) => void} set @param {boolean} [number] */
const field = (label, testid, value, set, number) => html`<label class="field"><span>${label}</span><input autocomplete="off" data-testid=${testid} inputmode=${number ? 'decimal' : 'text'} .value=${value} @input=${(/** @type {any} */ e) => set(e.target.value)}></label>`;

/** @param {string} sort @param {string} error @param {string} rh @param {(key: 'error' | 'rh', v: string) => void} set @param {string} testid */
const errors = (sort, error, rh, set, testid) => html`${field(t`Can be off by, ${unit().name}`, testid + '-error', error, (v) => set('error', v), true)}
  ${sort === 'air' ? field(t`Humidity can be off by, %`, testid + '-rh', rh, (v) => set('rh', v), true) : nothing}`;

/** One instrument. @param {Instrument} i */
function one(i) {
  const is = typed.get(i.name) ?? {};
  const put = (/** @type {any} */ change) => typed.set(i.name, { ...typed.get(i.name), ...change });
  return html`<section class="lap stack" data-testid="instrument:${i.name}">
    <h2 class="row wrap"><span class="tape">${i.name}</span><span class="small quiet">${instrumentSorts[i.sort] ?? i.sort}${i.serial ? `, ${i.serial}` : ''}</span>
      ${i.gone ? html`<span class="small push">out of use</span>` : i.due ? html`<span class="flag push">${shape('first')}${i.checked ? t`check is old` : t`never checked`}</span>` : nothing}</h2>
    <p>${i.rh_error ? t`Off by at most ${off(i)} and ${number(i.rh_error / 1000)} %.` : t`Off by at most ${off(i)}.`} ${!i.checked ? nothing : i.against ? t`Checked ${day(i.checked)} against ${i.against}.` : t`Checked ${day(i.checked)}.`}</p>
    ${i.gone ? html`<button type="button" class="press" data-testid="back:${i.name}" @click=${() => save({ ...i, gone: false }, t`In use again: ${i.name}.`)}>In use again</button>` : html`
    <details><summary data-testid="look:${i.name}">Check it</summary><div class="stack">
      ${errors(i.sort, is.error ?? inUnit(i.error), is.rh ?? (i.rh_error ? String(i.rh_error / 1000) : ''), (key, v) => put({ [key]: v }), 'check:' + i.name)}
      ${field(t`Checked against`, 'check:' + i.name + '-against', is.against ?? '', (v) => put({ against: v }))}
      <div class="row wrap"><button type="button" class="press go" data-testid="checked:${i.name}" @click=${() => check(i)}>Checked today</button>
        <button type="button" class="press" data-testid="gone:${i.name}" @click=${() => save({ ...i, gone: true }, t`Out of use: ${i.name}.`)}>Out of use</button></div></div></details>`}
  </section>`;
}

/** Both errors in the line's units; null, and a sentence, if they are none.
 * @param {string} sort @param {string} error @param {string} rh */
function errorsOf(sort, error, rh) {
  const e = milli(error, unit().size), h = sort === 'air' ? milli(rh, 1000) : 0;
  if (!(e > 0)) return refuse(t`Type how far it can be off, in ${unit().name}. Its sheet says it.`), null;
  if (!(h >= 0)) return refuse(t`Type how far its humidity can be off, in %.`), null;
  return { error: e, rh_error: h };
}

function add() {
  const name = form.name.trim(), off = errorsOf(form.sort, form.error, form.rh);
  if (!name) return refuse(t`Give it the name that is written on it.`);
  if (!off) return;
  if ((known.list ?? []).some((i) => i.name === name)) return refuse(t`${name} is in the register already. Check it there.`);
  const { sort, against, serial, checked } = form;
  return save({ name, sort, ...off, checked: checked ? today() : 0, against: checked ? against.trim() : '', serial: serial.trim(), gone: false }, t`Entered: ${name}.`, () => { form = fresh(); });
}

/** @param {Instrument} i */
function check(i) {
  const is = typed.get(i.name) ?? {}, off = errorsOf(i.sort, is.error ?? inUnit(i.error), is.rh ?? String(i.rh_error / 1000));
  if (off) return save({ ...i, ...off, checked: today(), against: (is.against ?? '').trim() }, t`Noted: ${i.name} checked.`, () => typed.delete(i.name));
}

const today = () => Math.round(now(home()));

/** The line, and the list as it will be told. @param {Instrument} i @param {string} words @param {() => void} [after] */
async function save(i, words, after) {
  const { due, ...body } = i;
  if (!(await write({ log: ofShop(), kind: 'instrument', body }, words))) return;
  known.list = [...(known.list ?? []).filter((x) => x.name !== i.name), { ...body, due: !i.gone && !i.checked }];
  known.heard = known.heard.filter((h) => h.name !== i.name);
  after?.();
  paint();
}
