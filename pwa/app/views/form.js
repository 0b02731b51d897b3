// @ts-check
// One sheet for every form of forms.js: the answers given so far stand above
// and can be touched to change them, the question at hand is large.

import { html, nothing, locale, t, tr } from '../tongue.js';
import { fromField } from '../marks.js';
import { app, closeSheet, home, job, now, paint } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { photoButton, picture } from './camera.js';
import { refusal } from './dock.js';
import { forms } from './forms.js';
import { keypad } from './pad.js';
import { scanButton } from './scan.js';
import { sheet } from './sheet.js';
import { inLine, shown, unitsOf } from './units.js';
import { usual } from './vehicles.js';

/** @param {any} s the open sheet: form, panel */
export function formSheet(s) {
  const view = job(), form = forms[s.form];
  s.got ??= {}; s.at ??= 0; s.typed ??= ''; s.panel ??= '';
  const fields = asked(s);
  const field = fields[Math.min(s.at, fields.length - 1)];
  s.ok = field.kind === 'number' || field.kind === 'list' ? () => typed(s, field) : undefined; // a keyboard's Enter
  const panel = (view.panels ?? []).find((/** @type {any} */ p) => p.id === s.panel);
  return sheet(tr(form.title) + (form.panel && panel ? ': ' + panel.name : ''), html`
    ${fields.length > 1 ? html`<div class="row wrap said-so">${fields.slice(0, s.at).map((f, i) => html`<button type="button" class="press" data-testid="again:${f.key}"
      @click=${() => { s.at = i; s.typed = ''; paint(); }}><span class="unseen">${tr(f.ask)} </span>${answered(f, s.got[f.key], view)}</button>`)}</div>` : nothing}
    ${refusal(app.refused)}
    <h3 class="fact" data-testid="ask:${field.key}">${tr(field.ask)}</h3>
    ${question(s, field, view)}
    ${field.skip ? html`<button type="button" class="act wide" data-testid="skip:${field.key}" @click=${() => answer(s, field, undefined)}>${tr(field.skip)}</button>` : nothing}`);
}

/** The fields that these answers ask for. @param {any} s */
const asked = (s) => forms[s.form].fields.filter((f) => !f.when || f.when(s.got));

/** An answer in a few words. @param {import('./forms.js').Field} f @param {any} value @param {any} view */
function answered(f, value, view) {
  if (value === undefined) return `${tr(f.ask)} ${tr(f.skip ?? '').toLowerCase()}`;
  switch (f.kind) {
    case 'choice': return tr(f.of?.find(([v]) => v === value)?.[1] ?? value);
    case 'number': return shown(value, f.unit ?? 'n');
    case 'list': return value.map((/** @type {number} */ v) => shown(v, f.unit ?? 'n')).join(', ');
    case 'panels': return value.length ? value.map((/** @type {string} */ id) => panelName(view, id)).join(', ') : t`All panels`;
    case 'panel': return panelName(view, value);
    case 'photo': return t`Photo`;
    case 'date': return new Date(value).toLocaleDateString(locale(), { day: 'numeric', month: 'short', year: 'numeric', timeZone: home()?.shop?.zone || undefined });
  }
  return value;
}

/** @param {any} view @param {string} id */
export const panelName = (view, id) => (view.panels ?? []).find((/** @type {any} */ p) => p.id === id)?.name ?? id;

/** @param {any} s @param {import('./forms.js').Field} f @param {any} view */
function question(s, f, view) {
  switch (f.kind) {
    case 'choice': return html`<div class="choice glove">${suggested(s, f, view)}${f.of?.map(([value, word]) => html`<button type="button" class="press" data-testid="pick:${f.key}:${value}"
      @click=${() => answer(s, f, value)}>${tr(word)}</button>`)}</div>${f.other ? text(s, f, t`Another`) : nothing}`;
    case 'panel': return html`<div class="choice glove">${(view.panels ?? []).map((/** @type {any} */ p, /** @type {number} */ i) => (p.id === s.panel ? nothing : html`<button type="button" class="press" data-testid="pick:${f.key}:${p.id}"
      @click=${() => answer(s, f, p.id)}><span class="hang">${i + 1}</span> ${p.name}</button>`))}</div>`;
    case 'panels': return html`<div class="choice glove"><button type="button" class="press" data-testid="pick:panels:all" @click=${() => answer(s, f, [])}>All panels</button>
      ${(view.panels ?? []).map((/** @type {any} */ p, /** @type {number} */ i) => html`<button type="button" class="press" data-testid="pick:panels:${p.id}"
        @click=${() => answer(s, f, [p.id])}><span class="hang">${i + 1}</span> ${p.name}</button>`)}</div>`;
    case 'photo': return html`<div class="choice glove">${photoButton(view, s.panel, (sha) => answer(s, f, sha))}</div>${s.got[f.key] ? picture(s.got[f.key], tr(f.ask)) : nothing}`;
    case 'date': return html`<label class="field"><span class="unseen">${tr(f.ask)}</span><input type="date" data-testid="date:${f.key}"
      @change=${(/** @type {any} */ e) => { s.typed = e.target.value; }}></label>
      <button type="button" class="act go" data-testid="date-ok" @click=${() => {
        const at = fromField(s.typed + 'T12:00', view.shop);
        return Number.isNaN(at) ? refuse(t`Touch the day first.`) : answer(s, f, at);
      }}>That day</button>`;
    case 'text': return text(s, f);
  }
  const units = unitsOf(f.unit ?? 'n'), list = s.got[f.key] ?? [];
  if (!units.includes(s.unit)) s.unit = units[0];
  return html`<div class="pad" data-testid="pad">
    ${units.length > 1 ? html`<div class="row" role="group" aria-label="Unit">${units.map((u) => html`<button type="button" class="press unit" aria-pressed=${s.unit === u}
      data-testid="unit-${u}" @click=${() => { s.unit = u; paint(); }}>${tr(u)}</button>`)}</div>` : nothing}
    ${f.kind === 'list' && list.length ? html`<p>${answered(f, list, view)}</p>` : nothing}
    ${keypad(s, tr(f.ask), tr(s.unit), f.unit === 'temp')}
    <div class="acts">${f.kind === 'list' && list.length ? html`<button type="button" class="act" data-testid="list-enough" @click=${() => answer(s, f, list)}>That is all</button>` : nothing}
      <button type="button" class="act go" data-testid="pad-ok" @click=${() => typed(s, f)}>${f.kind === 'list' ? t`Add it` : t`Next`}</button></div></div>`;
}

/** What a vehicle of this kind usually has: to be measured, never taken as
 * measured. @param {any} s @param {import('./forms.js').Field} f @param {any} view */
const suggested = (s, f, view) => (s.form === 'feature' && f.key === 'sort' ? usual(view.vehicle, s.panel)
  .filter((u) => !(view.features ?? []).some((/** @type {any} */ x) => x.panel === s.panel && x.name === u.name))
  .map((u) => html`<button type="button" class="press" data-testid="usual:${u.name}" @click=${() => { Object.assign(s.got, u); s.at = asked(s).findIndex((x) => s.got[x.key] === undefined); paint(); }}>${t`${tr(u.name)}, often here`}</button>`) : nothing);

/** @param {any} s @param {import('./forms.js').Field} f @param {string} [label] */
const text = (s, f, label) => html`<div class="row"><label class="field grow"><span class=${label ? '' : 'unseen'}>${label ?? tr(f.ask)}</span><input data-testid="type:${f.key}" autocomplete="off"
    .value=${s.typed} @input=${(/** @type {any} */ e) => { s.typed = e.target.value; }}></label>
    ${f.scan ? scanButton((code) => { s.typed = code; paint(); }) : nothing}</div>
  <button type="button" class="act ${label ? '' : 'go'}" data-testid="text-ok" @click=${() => (s.typed.trim() ? answer(s, f, s.typed.trim()) : refuse(t`Type it first.`))}>Next</button>`;

/** A number from the pad. @param {any} s @param {import('./forms.js').Field} f */
function typed(s, f) {
  const value = inLine(s.typed, f.unit ?? 'n', s.unit);
  if (Number.isNaN(value)) return refuse(t`Type the number first.`);
  (s.words ??= []).push(s.typed + ' ' + s.unit);
  if (f.kind !== 'list') return answer(s, f, value);
  s.got[f.key] = [...(s.got[f.key] ?? []), value];
  s.typed = '';
  app.refused = '';
  paint();
}

/** @param {any} s @param {import('./forms.js').Field} f @param {any} value nothing where it stays open */
async function answer(s, f, value) {
  app.refused = '';
  if (f.key === 'sort') delete s.got.name;
  if (value === undefined) delete s.got[f.key];
  else s.got[f.key] = value;
  s.typed = '';
  const fields = asked(s);
  s.at = fields.indexOf(f) + 1;
  if (s.at < fields.length) return paint();
  s.at = fields.length - 1;
  const form = forms[s.form], view = job();
  const got = Object.fromEntries(fields.filter((x) => s.got[x.key] !== undefined).map((x) => [x.key, s.got[x.key]]));
  if (s.got.name && !got.name) got.name = s.got.name;
  const body = form.body(got, { panel: s.panel, now: now(view), view });
  if (form.kind === 'heat') body.typed = (s.words ?? []).join(', ');
  if (s.late) body.at = s.late; // off a card: when it was
  if (await write({ log: ofJob(view.id), kind: form.kind, body }, form.said(s.got))) closeSheet();
}
