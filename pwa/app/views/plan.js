// @ts-check
// The plan back from hand-over: for each vehicle its days as a strip, and under
// it every piece of work with the word of what it waits for. Work is a full
// bar, hours that pass by themselves a hatched one.

import { html, nothing, svg } from '../vendor/lit-html.js';
import { clock, hours } from '../marks.js';
import { home, now } from './app.js';
import { age, lead, none, told, ways } from './lead.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';
import { leadWord } from './words.js';

export function planScreen() {
  const view = home(), a = lead(), p = a?.plan, at = now(view);
  return html`
    <header class="top"><a class="press plain" href="#/board" aria-label="Board">${shape('back')}</a><h1 tabindex="-1">${leadWord.plan}</h1><span class="push"></span>${view ? netMark(view) : nothing}</header>
    <main class="screen" data-testid="plan">${!a ? none() : html`
      ${age(a, view)}
      ${p.refused ? html`<p class="lap fact">${p.refused}</p>` : nothing}
      ${p.propose.length ? html`<section class="lap"><h2>${leadWord.propose}</h2><ul class="propose">${p.propose.map((/** @type {any} */ x) => html`<li class="row">${shape(x.kind === 'heat' ? 'sun' : x.kind === 'wash' ? 'drop' : 'move')}<span><b>${told(x.say)}</b> <span class="quiet">${told(x.why)}</span></span></li>`)}</ul></section>` : nothing}
      ${a.slips.map((/** @type {any} */ s) => html`<p class="caution">${shape('first')}<span>${told(s.say)} ${s.cause}.</span></p>`)}
      ${[...p.jobs].sort((x, y) => (x.due || Infinity) - (y.due || Infinity)).map((j) => vehicle(p, j, at))}
      <p class="small quiet">${leadWord.rests}</p>`}
      ${ways()}
    </main>`;
}

/** @param {any} p @param {any} j @param {number} at */
function vehicle(p, j, at) {
  const shop = home()?.shop ?? {};
  const bars = p.bars.filter((/** @type {any} */ b) => b.job === j.job);
  const late = j.due && j.end > j.due;
  return html`<section class="lap planned" data-testid="planned:${j.label}">
    <h2 class="row wrap"><a class="label" href="#/job/${j.job}">${j.label}</a>
      ${late ? html`<span class="state is-held">${shape('held')}<span>${leadWord.late(hours(j.end - j.due))}</span></span>` : j.due ? html`<span class="state is-done">${shape('done')}<span>${leadWord.holds}</span></span>` : nothing}</h2>
    <p>${leadWord.ends(clock(j.end, shop, at))}${j.due ? `, ${leadWord.promised(clock(j.due, shop, at))}` : ''}.${j.cause ? html` <b>${leadWord.stage(j.stage)}: ${j.cause}.</b>` : nothing}</p>
    ${strip(bars, p.open, j, at)}
    <ol class="bars">${bars.map((/** @type {any} */ b) => html`<li class=${b.wait ? 'hours' : 'work'}>
      <span class="when">${clock(b.from, shop, at)}<br>${clock(b.to, shop, at)}</span>
      <span><b>${leadWord.stage(b.key)}</b>${b.bay ? ` · ${b.bay}` : ''}${b.who?.length ? ` · ${b.who.join(', ')}` : ''}${b.word ? html`<span class="word">${shape('waits', 0.5)}${b.word}</span>` : nothing}</span></li>`)}</ol>
  </section>`;
}

/** A vehicle's days from now on: opening hours light, nights dark, the promise a
 * flag. The list under it says the same in words.
 * @param {any[]} bars @param {any[]} open @param {any} j @param {number} at */
function strip(bars, open, j, at) {
  const end = Math.max(j.end, j.due || 0) + 3_600_000, wide = 1000;
  const x = (/** @type {number} */ ms) => Math.max(0, Math.min(wide, ((ms - at) / (end - at)) * wide)).toFixed(1);
  const box = (/** @type {number} */ from, /** @type {number} */ to, /** @type {number} */ y, /** @type {number} */ h, /** @type {string} */ what) =>
    svg`<rect class=${what} x=${x(from)} width=${Math.max(3, Number(x(to)) - Number(x(from)))} y=${y} height=${h}/>`;
  return html`<svg class="strip" viewBox="0 0 ${wide} 60" preserveAspectRatio="none" aria-hidden="true">
    ${svg`<defs><pattern id="hatch" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0v14" stroke="currentColor" stroke-width="7"/></pattern></defs>`}
    <rect class="shut" width=${wide} height="60"/>
    ${open.map((o) => box(o.from, o.to, 0, 60, 'day'))}
    ${bars.filter((b) => b.wait).map((b) => box(b.from, b.to, 34, 18, 'hours'))}
    ${bars.filter((b) => !b.wait).map((b) => box(b.from, b.to, 8, 18, 'work'))}
    ${j.due ? svg`<rect class="due" x=${Math.min(wide - 6, Number(x(j.due)))} width="6" height="60"/>` : nothing}
  </svg>`;
}
