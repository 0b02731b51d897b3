// @ts-check
// The number pad. It names the place first, takes the number, and judges
// nothing: no limit is on it, no value is filled in, and the unit is what the
// hand touched. 'Not measured' and 'from memory' are as large as writing it down.

import { html, nothing, t, tr } from '../tongue.js';
import { app, closeSheet, home, paint } from './app.js';
import { ofJob, ofPlace, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';
import { shape } from './shapes.js';
import { emissivities, instruments, readWord } from './words.js';

/** The numbers that one sheet asks for, in the order they stand on an instrument.
 * @type {Record<string, {key: string, label: string, kind: 'temp' | 'rh'}[]>} */
const asked = {
  spot: [{ key: 'surface', label: '', kind: 'temp' }],
  climate: [{ key: 'air', label: 'Air', kind: 'temp' }, { key: 'rh', label: 'Humidity', kind: 'rh' }],
  span: [
    { key: 'air_least', label: 'Coldest air', kind: 'temp' }, { key: 'air_most', label: 'Warmest air', kind: 'temp' },
    { key: 'rh_least', label: 'Driest', kind: 'rh' }, { key: 'rh_most', label: 'Dampest', kind: 'rh' }],
};

/** @param {any} s the open sheet */
export function pad(s) {
  const steps = asked[s.what];
  s.step ??= 0; s.typed ??= ''; s.got ??= []; s.unit ??= home()?.shop?.units || 'C';
  s.instrument ??= localStorage.getItem('instrument') ?? '';
  s.emissivity ??= localStorage.getItem('emissivity') ?? '0.95';
  const step = steps[s.step], held = inHand(s);
  s.with ??= held.find(([, name]) => name && name === localStorage.getItem(withKey(s)))?.[1] ?? '';
  const named = s.what === 'spot' ? s.spot.name : `${tr(step.label)}, ${s.place.name}`;
  const last = s.step === steps.length - 1;
  return sheet(html`<span class="row">${s.what === 'spot' ? html`<span class="dot big">${s.spot.id}</span>` : nothing}<span>${named}</span></span>`, html`
    ${refusal(app.refused)}
    <div class="pad" data-testid="pad">
      <details class="how" ?open=${innerHeight > 640}><summary>${how(s, step.kind)}</summary><div class="row wrap between">${step.kind === 'temp'
        ? html`<div class="row" role="group" aria-label="Unit">${['C', 'F'].map((u) => html`<button type="button" class="press unit" aria-pressed=${s.unit === u}
            data-testid="pad-unit-${u}" @click=${() => { s.unit = u; paint(); }}>°${u}</button>`)}</div>` : nothing}
        ${held.length ? html`<div class="row wrap" role="group" aria-label="Instrument">${held.map(([key, name, due]) => html`
          <button type="button" class="press" data-testid="by-${name || key}" aria-pressed=${s.with === name && (name !== '' || s.instrument === key)} @click=${() => take(s, key, name)}>${name || tr(generic[key])}${due ? html`<span class="small"> ${readWord.due}</span>` : nothing}</button>`)}</div>` : nothing}</div>
      ${s.what === 'spot' && s.instrument === 'infrared' ? html`<div class="row wrap" role="group" aria-label="Emissivity set on the instrument"><span class="small">${readWord.set}</span>${emissivities.map((e) => html`
        <button type="button" class="press" data-testid="emissivity-${e}" aria-pressed=${s.emissivity === e} @click=${() => remember(s, 'emissivity', e)}>${e}</button>`)}</div><p class="small">${readWord.infrared}</p>` : nothing}</details>
      ${keypad(s, named, step.kind === 'rh' ? '%' : '°' + s.unit, step.kind !== 'rh')}
      <div class="acts">${s.what === 'spot' ? html`
        <button type="button" class="act" data-testid="pad-not-measured" @click=${() => finish(s, 'not-measured')}>Not measured</button>
        <button type="button" class="act" data-testid="pad-from-memory" @click=${() => finish(s, 'from-memory')}>From memory</button>` : nothing}
        <button type="button" class="act go" data-testid="pad-ok" @click=${() => finish(s, '')}>${last ? t`Write it down` : t`Next`}</button></div>
    </div>`, 'pad-cancel');
}

/** What was typed, and the keys below it. @param {any} s a sheet with 'typed' @param {string} named @param {string} unit @param {boolean} minus whether it can be below zero */
export const keypad = (s, named, unit, minus) => html`<div class="typed"><output aria-live="polite" aria-label=${named}>${s.typed.replace('-', '−')}${s.typed ? '' : html`<span class="caret"></span>`}</output>
    <span>${unit}</span>
    <button type="button" class="press plain" aria-label="Rub out the last digit" @click=${() => { s.typed = s.typed.slice(0, -1); paint(); }}>${shape('rub')}</button></div>
  <div class="keys">${['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', '-'].map((k) => key(s, k, minus))}</div>`;

/** Instruments that can be in a hand here: the register's, and for a surface the
 * kinds of which it has none. @param {any} s @returns {[string, string, boolean][]} kind, name, check is old */
const inHand = (s) => {
  const own = (home()?.instruments ?? []).filter((/** @type {any} */ i) => (i.sort === 'air') === (s.what !== 'spot'));
  return [...own.map((/** @type {any} */ i) => [i.sort, i.name, i.due]), ...(s.what === 'spot' ? Object.keys(generic).filter((key) => !own.some((/** @type {any} */ i) => i.sort === key)).map((key) => [key, '', false]) : [])];
};

/** @type {Record<string, string>} */
const generic = Object.fromEntries(instruments);

const withKey = (/** @type {any} */ s) => (s.what === 'spot' ? 'with' : 'with-air');

/** @param {any} s @param {string} sort @param {string} name */
function take(s, sort, name) {
  s.with = name;
  localStorage.setItem(withKey(s), name);
  if (s.what === 'spot') remember(s, 'instrument', sort);
  else paint();
}

/** Unit and instrument in one line; on a low screen the choice folds behind it.
 * @param {any} s @param {string} kind */
const how = (s, kind) => [kind === 'rh' ? '%' : '°' + s.unit, s.what === 'spot' ? s.with || (tr(generic[s.instrument]) ?? readWord.withWhat) : s.with,
  s.instrument === 'infrared' && s.what === 'spot' ? s.emissivity : ''].filter(Boolean).join(' · ');

/** @type {Record<string, string>} */
const keyId = { '.': 'dot', '-': 'minus' };

/** @param {any} s @param {string} k @param {boolean} minus */
const key = (s, k, minus) => html`<button type="button" class="key" data-testid="pad-${keyId[k] ?? k}" ?disabled=${k === '-' && !minus}
  aria-label=${k === '.' ? t`point` : k === '-' ? t`minus` : k} @click=${() => press(s, k)}>${k === '-' ? '−' : k}</button>`;

/** @param {any} s @param {string} k */
function press(s, k) {
  if (k === '-') s.typed = s.typed.startsWith('-') ? s.typed.slice(1) : '-' + s.typed;
  else if (k === '.' ? !s.typed.includes('.') : s.typed.replace(/\D/g, '').length < 5) s.typed += k;
  app.refused = '';
  paint();
}

/** A keyboard types on the pad wherever the focus is. Answers whether it wrote
 * down or went on. @param {KeyboardEvent} e @param {any} s the open sheet */
export function typedKey(e, s) {
  const ok = e.key === 'Enter' && !(e.target instanceof HTMLButtonElement);
  if (ok) (s.ok ?? (() => finish(s, '')))();
  else if (/^[0-9.,-]$/.test(e.key)) press(s, e.key.replace(',', '.'));
  else if (e.key === 'Backspace') { s.typed = s.typed.slice(0, -1); paint(); }
  else return false;
  e.preventDefault();
  return ok;
}

/** An instrument and its emissivity stay as they were touched last, on this phone.
 * @param {any} s @param {'instrument' | 'emissivity'} what @param {string} which */
function remember(s, what, which) {
  s[what] = which;
  localStorage.setItem(what, which);
  paint();
}

/** Milli-units from what was typed; NaN if it is no number.
 * @param {string} typed @param {string} kind @param {string} unit */
export function milli(typed, kind, unit) {
  const n = /^-?(\d+\.?\d*|\.\d+)$/.test(typed) ? Number(typed) : NaN;
  return Math.round((kind === 'temp' && unit === 'F' ? ((n - 32) * 5) / 9 : n) * 1000);
}

/** @param {any} s @param {string} answer */
async function finish(s, answer) {
  const steps = asked[s.what], step = steps[s.step];
  const value = answer === 'not-measured' ? 0 : milli(s.typed, step.kind, s.unit);
  if (Number.isNaN(value)) return refuse(t`Type the number first.`);
  s.got.push({ key: step.key, value, typed: answer === 'not-measured' ? '' : s.typed + ' ' + (step.kind === 'rh' ? '%' : s.unit) });
  if (s.step < steps.length - 1) {
    s.step++; s.typed = '';
    return paint();
  }
  if (await write(line(s, answer), words(s, answer))) closeSheet();
  else { s.got.pop(); paint(); }
}

/** When it was, off a job card. @param {any} s */
const off = (s) => (s.late ? { at: s.late } : {});

/** @param {any} s @param {string} answer */
function line(s, answer) {
  const typed = s.got.map((/** @type {any} */ g) => g.typed).join(', ');
  if (s.what === 'spot') {
    const values = [{ spot: s.spot.id, surface: s.got[0].value }];
    const how = s.instrument === 'infrared' && typed ? `${typed}, emissivity ${s.emissivity}` : typed;
    return { log: ofJob(s.job), kind: 'reading', body: { values, instrument: s.instrument, answer, typed: how, ...off(s), ...(s.with && { with: s.with }) } };
  }
  const numbers = Object.fromEntries(s.got.map((/** @type {any} */ g) => [g.key, g.value]));
  const span = s.what === 'span' ? { from: s.from, to: s.to } : off(s);
  return { log: ofPlace(s.place.id), kind: s.what === 'span' ? 'climate.span' : 'climate.reading',
    body: { ...numbers, ...span, instrument: s.with || (s.what === 'span' ? 'min-max' : 'by hand'), typed } };
}

/** @param {any} s @param {string} answer */
function words(s, answer) {
  const at = s.what === 'spot' ? s.spot.name : s.place.name;
  if (answer === 'not-measured') return t`Noted: ${at} not measured.`;
  const typed = s.got.map((/** @type {any} */ g) => g.typed.replace(/ ([CF])$/, ' °$1')).join(', ');
  return answer ? t`Noted: ${at} ${typed}, from memory.` : t`Noted: ${at} ${typed}.`;
}
