// @ts-check
// Which vehicle, which bay, may I start: yes, no, or from when. The list is
// sorted by what wants a hand first.

import { html, nothing, t } from '../tongue.js';
import { clock } from '../marks.js';
import { app, home, now, openSheet, paint } from './app.js';
import { away } from './away.js';
import { bit, whole } from './bits.js';
import { about, part, sentence, short } from './answer.js';
import { refusal } from './dock.js';
import { netMark, waited } from './net.js';
import { roll, shape } from './shapes.js';
import { homeWord } from './words.js';

/** What wants a hand first: may start, wants a reading, stopped, waits, done. */
const urgency = ['open', 'unknown', 'held', 'waits', 'done'];

/** @param {any[]} jobs */
export const sorted = (jobs) => [...jobs].sort((a, b) =>
  urgency.indexOf(a.gate?.state) - urgency.indexOf(b.gate?.state) || (a.gate?.until || 0) - (b.gate?.until || 0) || (a.promise || 0) - (b.promise || 0));

export function homeScreen() {
  const view = home();
  if (!view) return html`<header class="top"><h1 tabindex="-1">Bayhold</h1></header><main class="screen"><p class="lap fact">${waited() ? homeWord.slow : homeWord.opening}</p></main>`;
  const jobs = sorted(view.jobs ?? []);
  return html`
    <header class="top">
      <h1 tabindex="-1">${view.shop?.name || 'Bayhold'}</h1>${netMark(view)}
    </header>
    <main class="screen" data-testid="home">
      <nav class="ways" aria-label="Places in the app">
        <button type="button" class="press" data-testid="me" @click=${() => openSheet('who')}>
          <span class="dot" aria-hidden="true">${view.me?.initials ?? '?'}</span><span>${view.me ? html`<span class="unseen">You are </span>${view.me.name}` : t`Who are you?`}</span></button>
        <a class="press" href="#/board">Board</a>
        <a class="press" href="#/setup">Shop</a>
        ${lightSwitch()}
      </nav>
      ${away()}
      ${view.net?.moved ? html`<a class="press wide call" href="#/moved" data-testid="moved">${shape('shop')}<span>This shop has a new address.</span></a>` : nothing}
      ${app.sheet ? nothing : refusal(app.refused)}
      <ul class="vehicles">${jobs.filter(() => bit(1)).map((j) => html`<li class=${j.gate?.state === 'unknown' ? 'dashed' : ''}>${vehicle(view, j)}</li>`)}</ul>
      ${!whole() ? nothing : (view.calls ?? []).map((/** @type {any} */ c) => html`<a class="press wide call" href="#/job/${c.id}" data-testid="call:${c.label}">${shape('phone')}<span>${c.name}: ${[c.label, c.customer].filter(Boolean).join(', ')}</span></a>`)}
      ${jobs.length ? nothing : html`<div class="stack"><p class="lap">No vehicle in the shop. The next one to come in starts here.</p>${view.net?.role === 'lead' ? html`<a class="press wide" data-testid="let-join" href="#/phones">Let the crew's phones join</a>` : nothing}</div>`}
    </main>`;
}

/** @param {any} view @param {any} j */
function vehicle(view, j) {
  const g = j.gate, at = now(view);
  return html`<a class="vehicle ${g ? 'at-' + g.state : ''}" href="#/job/${j.id}" data-testid="job-row:${j.label}" data-state=${g?.state ?? ''}>
    ${g ? roll(g.state, part(g)) : nothing}
    <span class="strip-of"><span class="row wrap"><b class="label">${j.label}</b><span class="tape">${j.place_name || homeWord.nowhere}</span></span>
    ${g ? html`<span class="state is-${g.state}">${short(g, view)}</span><span class="ask">${about(g)}</span>
      <span class="fact">${sentence(g, view)}</span>` : nothing}
    <span class="small quiet">${[j.customer, j.vehicle].filter(Boolean).join('\u00a0· ')}${j.promise ? `\u00a0· ${homeWord.promised} ${clock(j.promise, view.shop, at)}` : ''}</span>
    ${j.only_here ? html`<span class="small state is-waits">${shape('phone')}<span>${homeWord.onlyHere(j.only_here)}</span></span>` : nothing}</span>
  </a>`;
}

export const homeDock = () => {
  const view = home();
  return !view?.shop?.set ? nothing : html`<div class="acts"><a class="act low" href="#/new" data-testid="new-job">New vehicle</a></div>`;
};

/** Day or night by hand. */
export function lightSwitch() {
  const night = document.documentElement.dataset.light === 'night';
  return html`<button type="button" class="press push" data-testid="daynight" aria-label=${night ? t`Switch to day` : t`Switch to night`} @click=${() => {
    localStorage.setItem('daynight', night ? 'day' : 'night');
    dispatchEvent(new Event('daynight'));
    paint();
  }}>${shape(night ? 'sun' : 'moon')}</button>`;
}
