// @ts-check
// Every number that a step goes by, with where it is from, and the shop's own
// steps. The lead changes one and the shop has a new set: new jobs take it, a
// job in hand keeps what it began with until the lead lets the new set reach it.

import { html, nothing, t, tr } from '../tongue.js';
import { difference, hours, temperature } from '../marks.js';
import { app, closeSheet, home, openSheet, paint, viewOf } from './app.js';
import { ofJob, ofShop, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { netMark } from './net.js';
import { keypad } from './pad.js';
import { shape } from './shapes.js';
import { barred, needs, offered } from './rights.js';
import { sheet } from './sheet.js';
import { rulesWord } from './words.js';

/** A number of a rule as the shop reads it. @param {number} n @param {string} unit */
function told(n, unit) {
  const shop = home()?.shop ?? {};
  switch (unit) {
    case 'mC': return temperature(n, shop);
    case 'mK': return difference(n, shop);
    case 'm%': return n / 1000 + ' %';
    case 'ms': return n >= 3_600_000 ? hours(n) : n / 60_000 + ' min';
  }
  return String(n);
}

/** What is typed for a unit, and how many of the rule's own that is.
 * @param {string} unit @returns {[string, (n: number) => number][]} */
function typedIn(unit) {
  const f = home()?.shop?.units === 'F';
  /** @type {Record<string, [string, (n: number) => number][]>} */
  const table = {
    mC: [['°C', (n) => n * 1000], ['°F', (n) => ((n - 32) * 5000) / 9]], mK: [['K', (n) => n * 1000], ['°F', (n) => (n * 5000) / 9]],
    'm%': [['%', (n) => n * 1000]], ms: [['h', (n) => n * 3_600_000], ['min', (n) => n * 60_000]],
  };
  const units = table[unit] ?? [['', (n) => n]];
  return f && unit.length === 2 && unit !== 'ms' && units.length > 1 ? [units[1], units[0]] : units;
}

export function rulesScreen() {
  const view = viewOf('rules'), lead = view?.me?.role === 'lead';
  return html`
    <header class="top"><a class="press plain" href="#/setup" aria-label="Shop">${shape('back')}</a>
      <h1 tabindex="-1">${rulesWord.title}</h1>${netMark(home())}</header>
    <main class="screen narrow" data-testid="rules">
      <p class="quiet">${lead ? rulesWord.lead : rulesWord.others}</p>
      ${app.sheet ? nothing : refusal(app.refused)}${lead ? needs('rules.set') : nothing}
      ${(view?.routes ?? []).length ? html`<section class="lap" aria-labelledby="routes-title"><h2 id="routes-title">${rulesWord.steps}</h2>
        <div class="choice">${view.routes.map((/** @type {any} */ r) => html`<a class="press" data-testid="steps-of:${r.key}" href="#/steps/${r.key}">${tr(r.name)}${r.own ? html`<span class="small"> ${rulesWord.own}</span>` : nothing}</a>`)}</div></section>` : nothing}
      <ul class="rules lap">${(view?.rules ?? []).map((/** @type {any} */ r) => html`<li data-testid="rule:${r.key}">
        <span class="grow">${r.what}<br><span class="small quiet">${r.source}${r.value === r.usual ? nothing : html`; ${rulesWord.usually} ${told(r.usual, r.unit)}`}</span></span>
        ${lead ? html`<button type="button" class="press" aria-label="${r.what}: ${told(r.value, r.unit)}, change" data-testid="rule-change:${r.key}" @click=${() => openSheet('rule', { rule: r })}><b>${told(r.value, r.unit)}</b></button>`
          : html`<b>${told(r.value, r.unit)}</b>`}</li>`)}</ul>
    </main>`;
}

/** One number. @param {any} s */
export function ruleSheet(s) {
  const r = s.rule, units = typedIn(r.unit);
  s.typed ??= ''; s.unit ??= units[0][0];
  s.ok = () => save(s);
  return sheet(r.what, html`<p>${rulesWord.now(told(r.value, r.unit))} <span class="quiet">${r.source}</span></p>
    ${refusal(app.refused)}${needs('rules.set')}
    <div class="pad" data-testid="pad">${units.length > 1 ? html`<div class="row" role="group" aria-label="Unit">${units.map(([u]) => html`<button type="button" class="press unit" aria-pressed=${s.unit === u} data-testid="unit-${u}"
      @click=${() => { s.unit = u; paint(); }}>${u}</button>`)}</div>` : nothing}
    ${keypad(s, r.what, s.unit, r.unit === 'mC')}
    <div class="acts"><button type="button" class="act go" data-testid="pad-ok" @click=${() => save(s)}>${rulesWord.change}</button></div></div>`);
}

/** @param {any} s */
async function save(s) {
  const r = s.rule, n = /\d/.test(s.typed) ? Number(s.typed) : NaN;
  if (Number.isNaN(n)) return refuse(t`Type the number first.`);
  const value = Math.round((typedIn(r.unit).find(([u]) => u === s.unit) ?? typedIn(r.unit)[0])[1](n));
  const values = Object.fromEntries((viewOf('rules')?.rules ?? []).map((/** @type {any} */ x) => [x.key, x.key === r.key ? value : x.value]));
  if (await write({ log: ofShop(), kind: 'rules.set', body: { values } }, rulesWord.noted(told(value, r.unit)))) closeSheet();
}

/** A job that goes by older numbers or steps, for the lead. @param {any} view the job */
export function newer(view) {
  if (view.closed || view.me?.role !== 'lead' || !(view.newer_rules || view.newer_steps)) return nothing;
  return html`<section class="lap" aria-labelledby="newer-title"><h2 id="newer-title">${rulesWord.newer}</h2><p>${rulesWord.keeps}</p>
    <button type="button" class="press wide" data-testid="newer" @click=${() => openSheet('newer')}>${rulesWord.take}</button></section>`;
}

/** @param {any} s */
export function newerSheet(s) {
  const view = viewOf('job', app.route.id);
  s.why ??= '';
  return sheet(rulesWord.take, html`<label class="field"><span>${rulesWord.why}</span><textarea data-testid="newer-why" .value=${s.why} @input=${(/** @type {any} */ e) => { s.why = e.target.value; }}></textarea></label>
    ${refusal(app.refused)}${needs('job.rules')}
    <div class="acts"><button type="button" class="act go" data-testid="newer-save" @click=${async () => {
      if (await write({ log: ofJob(view.id), kind: 'job.rules', body: { rules: view.newer_rules, steps: view.newer_steps, why: s.why.trim() } }, rulesWord.taken)) closeSheet();
    }}>${rulesWord.take}</button></div>`);
}

/** The steps of a route as they are being changed. @type {{route: string, name: string, steps: any[]} | null} */
let draft = null;

/** A shop's own steps of one kind of job. */
export function stepsScreen() {
  const route = (viewOf('rules')?.routes ?? []).find((/** @type {any} */ r) => r.key === app.route.id);
  if (route && draft?.route !== route.key) draft = { route: route.key, name: route.name, steps: structuredClone(route.steps) };
  const d = draft?.route === app.route.id ? draft : null;
  const dropped = (route?.usual ?? []).filter((/** @type {any} */ u) => !d?.steps.some((x) => x.key === u.key));
  return html`
    <header class="top"><a class="press plain" href="#/rules" aria-label=${rulesWord.title}>${shape('back')}</a>
      <h1 tabindex="-1">${rulesWord.steps}</h1>${netMark(home())}</header>
    <main class="screen narrow" data-testid="own-steps">
      <p class="quiet">${tr(route?.name)}: ${rulesWord.order}</p>
      ${app.sheet ? nothing : refusal(app.refused)}
      <ol class="rules lap">${(d?.steps ?? []).map((x, i) => html`<li data-testid="own:${x.key}"><span class="grow"><b>${tr(x.name)}</b>${x.caution ? html`<br><span class="small">${tr(x.caution)}</span>` : nothing}</span>
        ${barred('steps.set') ? nothing : html`<button type="button" class="press" aria-label="${tr(x.name)}: earlier" data-testid="up:${x.key}" ?disabled=${i === 0} @click=${() => swap(i - 1)}>↑</button>
        <button type="button" class="press" aria-label="${tr(x.name)}: leave it out" data-testid="drop:${x.key}" @click=${() => { d?.steps.splice(i, 1); paint(); }}>${shape('close')}</button>`}</li>`)}</ol>
      ${dropped.length && !barred('steps.set') ? html`<section class="lap"><h2>${rulesWord.dropped}</h2><div class="choice">${dropped.map((/** @type {any} */ u) => html`<button type="button" class="press" data-testid="back:${u.key}"
        @click=${() => { d?.steps.splice(route.usual.findIndex((/** @type {any} */ x) => x.key === u.key), 0, structuredClone(u)); paint(); }}>${tr(u.name)}</button>`)}</div></section>` : nothing}
      ${barred('steps.set') ? nothing : html`<button type="button" class="press wide" data-testid="own-add" @click=${() => openSheet('ownstep')}>${rulesWord.add}</button>`}
    </main>`;
}

export const stepsDock = () => offered('steps.set', () => html`<div class="acts"><button type="button" class="act go" data-testid="own-save" @click=${saveSteps}>${rulesWord.saveSteps}</button></div>`);

/** Swaps a step with the next one. @param {number} i */
function swap(i) {
  const list = draft?.steps ?? [];
  [list[i], list[i + 1]] = [list[i + 1], list[i]];
  paint();
}

/** @param {any} s */
export function ownStepSheet(s) {
  s.title ??= ''; s.caution ??= ''; s.per ??= 'vehicle'; s.below ??= '';
  const list = draft?.steps ?? [];
  const field = (/** @type {'title' | 'caution'} */ key, /** @type {string} */ word) => html`<label class="field"><span>${word}</span><input data-testid="own-${key}" autocomplete="off" .value=${s[key]}
    @input=${(/** @type {any} */ e) => { s[key] = e.target.value; }}></label>`;
  return sheet(rulesWord.add, html`${field('title', rulesWord.name)}${field('caution', rulesWord.caution)}
    <div class="choice tight" role="group" aria-label=${rulesWord.per}>${[['vehicle', t`Once`], ['panel', t`Each panel`]].map(([key, word]) => html`<button type="button" class="press" aria-pressed=${s.per === key} data-testid="own-${key}" @click=${() => { s.per = key; paint(); }}>${word}</button>`)}</div>
    <label class="field"><span>${rulesWord.below}</span><select data-testid="own-below" @change=${(/** @type {any} */ e) => { s.below = e.target.value; }}>${list.map((x) => html`<option value=${x.key}>${tr(x.name)}</option>`)}</select></label>
    ${refusal(app.refused)}
    <div class="acts"><button type="button" class="act go" data-testid="own-done" @click=${() => {
      const name = s.title.trim(), at = Math.max(0, list.findIndex((x) => x.key === s.below)), lay = list.findIndex((x) => x.key === 'lay');
      if (!name) return refuse(rulesWord.needsName);
      const key = name.toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '') || 'own';
      list.splice(at + 1, 0, { key: list.some((x) => x.key === key) ? key + '-' + list.length : key, name, caution: s.caution.trim(), per: s.per, after: lay >= 0 && at >= lay });
      closeSheet();
    }}>${rulesWord.addIt}</button></div>`);
}

async function saveSteps() {
  if (!draft) return;
  const route = (viewOf('rules')?.routes ?? []).find((/** @type {any} */ r) => r.key === draft?.route);
  const steps = draft.steps.map((x) => (route?.usual.some((/** @type {any} */ u) => u.key === x.key)
    ? { key: x.key } : { key: x.key, name: x.name, caution: x.caution, per: x.per, after: x.after }));
  if (await write({ log: ofShop(), kind: 'steps.set', body: { route: draft.route, name: draft.name, steps } }, rulesWord.stepsNoted)) draft = null;
}

