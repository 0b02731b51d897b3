// @ts-check
// A vehicle of years ago, by what somebody remembers of it. The shop server
// looks; a finished vehicle's record is one touch further.

import { html, nothing, locale, tr } from '../tongue.js';
import { app, home, paint } from './app.js';
import { refusal } from './dock.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';
import { lookWord } from './words.js';

/** The question typed, and the last answer with the question that it answers. */
let question = '', asking = false;
/** @type {null | {to: string, jobs: any[], more: number}} */
let answer = null;

const REMEMBERED = 30_000; // ms that the shop server has to answer

/** The question of the address that was asked last. */
let linked = '';

/** @param {Event} [event] */
async function ask(event) {
  event?.preventDefault();
  const to = question.trim();
  if (asking) return;
  asking = true;
  app.refused = '';
  paint();
  try {
    const response = await fetch('/find?' + new URLSearchParams({ q: to }), { signal: AbortSignal.timeout(REMEMBERED) });
    if (response.ok) answer = { to, ...await response.json() };
    else app.refused = response.status === 400 ? lookWord.what : lookWord.cannot;
  } catch {
    app.refused = lookWord.cannot;
  }
  asking = false;
  paint();
}

/** A day as the shop's calendar has it. @param {number} at @param {any} shop */
const day = (at, shop) => new Date(at).toLocaleDateString(locale(), { day: 'numeric', month: 'short', year: 'numeric', timeZone: shop.zone || undefined });

export function lookUpScreen() {
  const view = home();
  if (linked !== app.route.id) {
    linked = app.route.id;
    question = decodeURIComponent(linked);
    if (question) queueMicrotask(() => ask());
  }
  return html`
    <header class="top"><a class="press plain" href="#/board" aria-label="Board">${shape('back')}</a><h1 tabindex="-1">${lookWord.title}</h1>${view ? netMark(view) : nothing}</header>
    <main class="screen narrow" data-testid="lookup">
      <form class="lap stack" role="search" @submit=${ask}>
        <label class="field"><span>${lookWord.what}</span><input type="search" enterkeyhint="search" autocomplete="off" maxlength="100" data-testid="question" .value=${question} @input=${(/** @type {any} */ e) => { question = e.target.value; }}></label>
        ${refusal(app.refused)}
        <button class="press go wide" data-testid="look">${asking ? lookWord.asking : lookWord.look}</button>
        <p class="fact" role="status">${answer ? lookWord.found(answer.jobs.length + answer.more, answer.to) : nothing}</p>
      </form>
      ${answer ? html`${answer.jobs.map((/** @type {any} */ j) => found(j, view?.shop ?? {}))}
        ${answer.more ? html`<p class="lap quiet">${lookWord.more(answer.more)}</p>` : nothing}` : nothing}
    </main>`;
}

/** @param {any} j @param {any} shop */
const found = (j, shop) => html`<section class="lap stack" data-testid="found:${j.label}">
  <h2 class="row wrap"><b class="label">${j.label}</b>${j.plate ? html`<span class="tape">${j.plate}</span>` : nothing}</h2>
  <p>${[tr(j.vehicle), j.customer].filter(Boolean).join(', ')}</p>
  <p class="quiet">${j.closed ? lookWord.stay(day(j.began, shop), day(j.closed, shop)) : lookWord.since(day(j.began, shop))}</p>
  <p class="row wrap">${j.closed ? html`<a class="press" href="/record/${j.job}.pdf" target="_blank" rel="noopener">${lookWord.paper}</a>
    <a class="press" href="/record/${j.job}" download>${lookWord.folder}</a>` : html`<a class="press" href="#/job/${j.job}">${lookWord.open}</a>`}</p></section>`;
