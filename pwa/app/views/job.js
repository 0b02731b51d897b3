// @ts-check
// One vehicle. First the answer, then under the thumb the one next thing; the
// drawing; what spoiled it; readings; steps; the walk; lines.

import { html, nothing, t, tr } from '../tongue.js';
import { clock } from '../marks.js';
import { app, job, now, openSheet } from './app.js';
import { answer } from './answer.js';
import { away } from './away.js';
import { bit, settled } from './bits.js';
import { photoButton } from './camera.js';
import { lampButton } from './lamp.js';
import { removal } from './removal.js';
import { voiceButton } from './voice.js';
import { nextThing, noted, refusal } from './dock.js';
import { hang } from './hang.js';
import { inspection } from './inspection.js';
import { askMoves } from './lead.js';
import { lines } from './lines.js';
import { map } from './map.js';
import { netMark } from './net.js';
import { gunLeft } from './pace.js';
import { readings } from './readings.js';
import { barred } from './rights.js';
import { newer } from './rules.js';
import { setbacks } from './setbacks.js';
import { shape } from './shapes.js';
import { spotChecks } from './spot.js';
import { caution, steps } from './steps.js';
import { waited } from './net.js';
import { homeWord, jobWord, walkWord } from './words.js';

export function jobScreen() {
  const view = job();
  if (!view) return html`<main class="screen stack" data-testid="job-gone"><h1 tabindex="-1">${jobWord.vehicle}</h1><p class="lap fact">${waited() ? jobWord.notHere : jobWord.looking}</p><a class="press" href="#/">${jobWord.all}</a></main>`;
  return html`
    <header class="top">
      <a class="press plain" href="#/" aria-label="All vehicles">${shape('back')}</a>
      <h1 tabindex="-1">${view.label}</h1>
      ${view.place?.name ? html`<button type="button" class="tape press-tape" data-testid="move" @click=${() => openSheet('move')}>${view.place.name}<span class="unseen">, moved?</span></button>` : nothing}
      ${netMark(view)}
    </header>
    <main class="screen job ${settled() ? 'settled' : ''}" data-testid="job">
      <div class="main-side">
        <p class="quiet who-what">${[view.customer, tr(view.vehicle), view.plate?.replaceAll(' ', '\u00a0')].filter(Boolean).join('\u00a0· ')}${view.promise ? html`\u00a0· ${homeWord.promised} ${clock(view.promise, view.shop, now(view))}` : nothing}</p>
        ${away()}
        ${view.closed ? html`<section class="lap"><p class="fact">It left. Its lines stay readable.</p></section>` : answer(view, view.gate)}
        ${caution(view)}
        ${gunLeft(view)}
        ${app.sheet ? nothing : refusal(app.refused)}
        ${then(() => html`${hang(view)}${removal(view)}`)}
        ${then(() => (walking(view) ? inspection(view) : map(view)))}
        ${then(() => setbacks(view))}
      </div>
      <div class="more-side">
        ${then(() => readings(view))}
        ${then(() => steps(view))}
        ${then(() => (walking(view) ? nothing : inspection(view)))}
        ${then(() => also(view))}
      </div>
    </main>`;
}

/** What else can be done with it, and its lines. Nothing waits for it, so that it
 * asks for what a move needs. @param {any} view */
function also(view) {
  if (!view.closed) askMoves(view.id);
  return html`${goAheads(view)}
    ${newer(view)}
    <section class="lap" aria-labelledby="also-title"><h2 id="also-title">Also</h2><div class="choice glove">
      ${photoButton(view, '')}${lampButton()}
      <button type="button" class="press" @click=${() => openSheet('move')}>Moved to another place</button>
      <button type="button" class="press" data-testid="note-add" @click=${() => openSheet('note')}>Write a note</button>
      ${view.closed ? nothing : voiceButton()}
      ${view.closed ? nothing : html`<a class="press" href="/card/${view.id}.pdf?language=${document.documentElement.lang}" target="_blank" rel="noopener">Print the card</a>
        <a class="press" data-testid="from-card" href="#/late/${view.id}">From the card</a>`}
      ${['lead', 'desk'].includes(view.me?.role) ? html`<a class="press" href="#/owner/${view.id}" data-testid="owner-link">${walkWord.giveLink}</a>` : nothing}
      ${view.closed || barred('job.close') ? nothing : html`<button type="button" class="press" data-testid="close" @click=${() => openSheet('close')}>It leaves</button>`}</div></section>
    ${spotChecks(view)}
    ${lines(view)}`;
}

/** Until it is looked over on clean paint there is nothing on the panels yet:
 * the walk's drawing takes their place. @param {any} view */
const walking = (view) => !view.closed && (view.gate?.stage === 'wash' || (view.stages ?? []).some((/** @type {any} */ s) => s.key === view.gate?.stage && s.proof === 'walk'));

/** What is drawn once all before it is. The answer waits for none of it. @param {() => unknown} inner */
const then = (inner) => (bit() ? inner() : nothing);

export const jobDock = () => {
  const view = job();
  return html`${noted()}${view ? dock(nextThing(view, view.gate)) : nothing}`;
};

/** @param {unknown} inner */
export const dock = (inner) => (inner === nothing ? nothing : html`<div class="dock">${inner}</div>`);

/** What a go-ahead passes over, in words: 'not-dry=3600000' is 'not dry'.
 * @param {any} w */
const covers = (w) => {
  const causes = (w.causes ?? []).map((/** @type {string} */ c) => c.split('=')[0].replaceAll('-', ' '));
  return causes.length ? t`Covers: ${[...new Set(causes)].map(tr).join(', ')}.` : '';
};

/** @param {any} view */
function goAheads(view) {
  const list = view.waivers ?? [];
  if (!list.length) return nothing;
  return html`<section class="lap" aria-labelledby="ahead-title"><h2 id="ahead-title">Lead's go-ahead, on the record</h2>
    <ul class="ahead">${list.map((/** @type {any} */ w) => html`<li><span class="tape small">${w.name || w.stage}</span> ${w.sentence}
      <span class="small quiet">${[w.by, w.at ? clock(w.at, view.shop, now(view)) : ''].filter(Boolean).join(', ')}. ${covers(w)}</span></li>`)}</ul></section>`;
}
