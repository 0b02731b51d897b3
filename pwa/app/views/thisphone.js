// @ts-check
// This phone: what is only on it, whether it keeps what it has, how the app
// comes to the home screen, and which version runs.

import { html, nothing, t, tongues } from '../tongue.js';
import * as edition from '../edition.js';
import { install, where } from '../install.js';
import { choose, chosen } from '../own.js';
import { number } from '../marks.js';
import { app, home, paint } from './app.js';
import { noted, refuse } from './acts.js';
import { refusal } from './dock.js';
import { netMark } from './net.js';
import { onPhone, onlyHere, save } from './phonebook.js';
import { shape } from './shapes.js';
import { ownWord, phoneWord } from './words.js';

export function phoneScreen() {
  const { waiting = 0, photosWaiting = 0, persisted, stored, spare } = onPhone().status;
  return html`
    <header class="top"><a class="press plain" href="#/" aria-label="All vehicles">${shape('back')}</a>
      <h1 tabindex="-1">${phoneWord.title}</h1>${netMark(home())}</header>
    <main class="screen narrow" data-testid="phone">
      ${refusal(app.refused)}
      <section class="lap stack" aria-labelledby="only-title"><h2 id="only-title">${phoneWord.only}</h2>${onlyHere()}
        ${waiting ? html`<button type="button" class="press wide" data-testid="export" @click=${() => save(false)}>${phoneWord.saveWaiting}</button>` : nothing}
        <button type="button" class="press wide" data-testid="export-all" @click=${() => save(true)}>${phoneWord.saveAll}</button></section>
      <section class="lap stack" aria-labelledby="keep-title"><h2 id="keep-title">${phoneWord.keep}</h2>
        ${persisted === undefined ? nothing : html`<p class="fact" data-testid="persisted">${persisted ? phoneWord.persisted : phoneWord.notPersisted}</p>`}
        ${persisted === false ? html`<p>${phoneWord.notPersistedOut}</p><button type="button" class="press wide" data-testid="persist" @click=${persist}>${phoneWord.persist}</button>` : nothing}
        <p class="small quiet">${spare ? phoneWord.spare : nothing} ${stored ? t`${number(stored / 1e6, 1)} MB used on this phone.` : nothing}</p></section>
      <section class="lap stack" aria-labelledby="install-title"><h2 id="install-title">${phoneWord.install}</h2>${installing(waiting + photosWaiting)}</section>
      ${own()}
      <a class="press wide" href="#/check" data-testid="check-record">Check a record</a>
      <section class="lap stack" aria-labelledby="version-title"><h2 id="version-title">${phoneWord.version}</h2>
        ${edition.waiting() ? html`<p class="fact">${phoneWord.ready}</p><button type="button" class="press go wide" data-testid="start-version" @click=${start}>${phoneWord.startNow}</button>`
          : html`<p class="fact">${phoneWord.noNewer}</p>`}
        ${bundle() ? html`<p class="small quiet">${phoneWord.runs} ${name}.</p>` : nothing}</section>
    </main>`;
}

/** Tongue and units of whoever is tapped. */
function own() {
  const me = home()?.me, is = chosen();
  const row = (/** @type {string} */ title, /** @type {'tongue' | 'degrees' | 'lengths'} */ what, /** @type {string} */ now, /** @type {[string, string][]} */ of) => html`<div class="choice tight" role="group" aria-label=${title}>${of.map(([key, word]) => html`
    <button type="button" class="press" lang=${what === 'tongue' ? key : nothing} aria-pressed=${now === key} data-testid="own-${what}-${key}" @click=${() => choose({ [what]: key }).catch(() => refuse(ownWord.cannot))}>${word}</button>`)}</div>`;
  return html`<section class="lap stack" aria-labelledby="own-title"><h2 id="own-title">${ownWord.title}</h2>
    ${row(ownWord.title, 'tongue', document.documentElement.lang, Object.entries(tongues).map(([key, of]) => [key, of.name]))}
    ${row(ownWord.degrees, 'degrees', is.degrees ?? '', [['', ownWord.shop], ['C', '°C'], ['F', '°F']])}
    ${row(ownWord.lengths, 'lengths', is.lengths ?? '', [['', ownWord.shop], ['mm', 'mm'], ['in', 'in']])}
    <p class="small quiet">${me ? ownWord.of(me.name) : ownWord.nobody}</p></section>`;
}

/** The ways onto the home screen. @param {number} held lines and photos that are only here */
function installing(held) {
  const at = where();
  if (at === 'home') return html`<p class="fact" data-testid="install">${phoneWord.atHome}</p>`;
  if (at === 'offer') return html`<p>${phoneWord.why}</p><button type="button" class="press go wide" data-testid="install" @click=${install}>${phoneWord.putThere}</button>`;
  if (at === 'menu') return html`<p>${phoneWord.why}</p><p data-testid="install">${phoneWord.menu}</p>`;
  return html`<p>${phoneWord.why}</p>
    <ol class="install-steps" data-testid="install">${['share', 'add', 'open'].map((drawing, i) => html`<li>${shape(drawing)}<span>${phoneWord.steps[i]}</span></li>`)}</ol>
    <p>${phoneWord.startsEmpty}${held ? phoneWord.sendFirst : nothing}</p>`;
}

async function persist() {
  const is = await navigator.storage?.persist?.().catch(() => false);
  if (!is) return refuse(phoneWord.persistNo);
  onPhone().at = -Infinity;
  noted(phoneWord.persisted);
}

async function start() {
  if (!(await edition.start())) refuse(phoneWord.notNow);
}

let name = '';

/** The version that this page runs: the bundle's name, cut short. */
function bundle() {
  if (!name && globalThis.caches) {
    caches.keys().then((all) => {
      const found = all.find((n) => n.startsWith('bayhold-'))?.slice('bayhold-'.length, 'bayhold-'.length + 8);
      if (found) { name = found; paint(); }
    }, () => {});
  }
  return name;
}
