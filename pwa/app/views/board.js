// @ts-check
// The building as it stands: bays in its order, walls between them, the yard
// outside. Each says what holds its vehicle and until when. Bays that share air
// are shaded alike and say so; what wants a hand first carries a flag. The
// order never changes.

import { html, nothing, t } from '../tongue.js';
import { clock, humidity, marks, temperature } from '../marks.js';
import { now, viewOf } from './app.js';
import { about, counted, part, sentence, short, where } from './answer.js';
import { bit, whole } from './bits.js';
import { lightSwitch } from './home.js';
import { alarms, below, lead, unchecked, ways } from './lead.js';
import { netMark, waited, without } from './net.js';
import { roll, shape, state } from './shapes.js';
import { spotsOpen } from './spot.js';
import { boardWord } from './words.js';

export function boardScreen() {
  const view = viewOf('board');
  if (!view) return html`<header class="top"><h1 tabindex="-1">Board</h1></header><main class="screen"><p class="lap fact">${waited() ? boardWord.notHere : boardWord.opening}</p></main>`;
  const at = now(view);
  lead();
  return html`
    <header class="top timed"><a class="press plain" href="#/" aria-label="All vehicles">${shape('back')}</a><h1 tabindex="-1">Board</h1>
      <time class="wall-clock push">${clock(at, view.shop, at)}</time>${netMark(view)}</header>
    <main class="screen wide" data-testid="board">
      ${ways()}
      ${without(view, at)}
      <ol class="bays">${inOrder(view).filter((p) => p.sort === 'bay').map((p) => stands(view, p))}</ol>
      <ol class="bays outside">${inOrder(view).filter((p) => p.sort !== 'bay').map((p) => stands(view, p))}</ol>
      ${whole() ? html`<div class="row">${lightSwitch()}</div>
      ${unchecked()}
      ${below()}
      ${spotsOpen(view)}` : nothing}
    </main>`;
}

export const boardDock = alarms;

/** Places as they stand along the building. @param {any} view @returns {any[]} */
const inOrder = (view) => [...(view.places ?? [])].sort((a, b) => (a.order || 0) - (b.order || 0));

/** The other places of a place's air. @param {any} view @param {any} p */
function sharing(view, p) {
  const at = (view.spaces ?? []).findIndex((/** @type {string[]} */ s) => s.includes(p.id) && s.length > 1);
  if (at < 0) return null;
  const names = view.spaces[at].filter((/** @type {string} */ id) => id !== p.id).map((/** @type {string} */ id) => view.places.find((/** @type {any} */ x) => x.id === id)?.name ?? id);
  return { shade: at % 3, names };
}

/** A place, once all before it are drawn. @param {any} view @param {any} p */
const stands = (view, p) => (whole() ? html`<li>${bay(view, p)}</li>` : nothing);

/** A stay has twice the parts of a list's row, and counts as two. @param {any} view @param {any} p */
function bay(view, p) {
  const shared = sharing(view, p);
  const jobs = p.jobs ?? [];
  return html`<section class="bay ${shared ? 'air-' + shared.shade : ''}" data-testid="place:${p.name}" aria-label=${p.name}>
    <header class="row wrap"><h2 class="tape">${p.name || t`No place`}</h2>
      ${p.sort === 'bay' ? html`<a class="press push" href="#/air/${p.id}" aria-label="${p.name}: air">${shape('air')}</a>` : nothing}
      ${shared ? html`<span class="row small">${shape('air')}shares air with ${shared.names.join(', ')}</span>` : nothing}</header>
    ${p.climate ? html`<p class="small climate">air ${temperature(p.climate.air, view.shop)}, ${humidity(p.climate.rh)}, dew point ${temperature(p.climate.dew, view.shop)}</p>` : html`<p class="small quiet">no reading of the air</p>`}
    ${(p.ongoing ?? []).map((/** @type {any} */ e) => html`<p class="small"><b>${e.name}</b> since ${clock(e.since, view.shop, now(view))}</p>`)}
    ${jobs.length ? jobs.filter(() => bit(2)).map((/** @type {any} */ j) => stay(view, j)) : html`<p class="quiet">empty</p>`}
  </section>`;
}

/** Whether two gates are one line: the same of two panels. @param {any} a @param {any} b */
const same = (a, b) => a.stage === b?.stage && a.text === b.text;

/** @param {any} view @param {any} j */
function stay(view, j) {
  const g = j.gate, at = now(view);
  const urgent = (view.urgent ?? []).includes(j.id);
  const others = (j.gates_held ?? []).filter((/** @type {any} */ h) => h.text !== g?.text && !(h.cause ?? '').endsWith('-first'));
  return html`<a class="stay ${g ? 'at-' + g.state : ''}" href="#/job/${j.id}" data-testid="board-job:${j.label}" data-state=${g?.state ?? ''}>
    ${g ? roll(g.state, part(g)) : nothing}
    <span class="row wrap"><b class="label">${j.label}</b><span>${j.customer}</span>
      ${urgent ? html`<span class="flag push">${shape('first')}promised ${clock(j.promise, view.shop, at)}</span>` : nothing}</span>
    ${g ? html`<span class="state is-${g.state}">${short(g, view)}</span><span class="ask">${about(g)}</span>
      <span class="fact">${sentence(g, view)}</span>
      ${g.until && g.state !== 'waits' ? html`<span>until ${clock(g.until, view.shop, at)}</span>` : nothing}
      ${g.cond ? html`<span>${marks(g.cond, view.shop, at)}</span>` : nothing}
      ${g.needed > 0 && g.state !== 'done' && g.state !== 'open' ? counted(g) : nothing}` : nothing}
    ${others.map((/** @type {any} */ h, i) => (same(h, others[i - 1]) ? nothing : html`<span class="small">${[about(h), ...others.slice(i + 1).filter((/** @type {any} */ o) => same(o, h)).map(where)].join(', ')}: ${state(h.state, short(h, view))} ${marks(h.text, view.shop, at)}</span>`))}
    <span class="small quiet row wrap">${j.last_by ? t`last line ${j.last_by} ${clock(j.last_at, view.shop, at)}` : nothing}
      ${j.only_here ? html`<span class="state is-waits">${shape('phone')}<span>${j.only_here} only on this phone</span></span>` : nothing}</span>
  </a>`;
}
