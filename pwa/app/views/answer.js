// @ts-check
// 'May I start, and if not, when and why', in one glance. The word and the
// time are read from 2 m; the sentence from arm's length.

import { html, svg, nothing, tr } from '../tongue.js';
import { clock, hours, marks } from '../marks.js';
import { shape } from './shapes.js';
import { answerWord, stateWord, wipeWord } from './words.js';
import { now } from './app.js';
import { received, without } from './net.js';

/** How much of the needed hours counts so far, 0 to 1. @param {any} g */
export const part = (g) => (g?.needed > 0 ? Math.min(1, (g.counted || 0) / g.needed) : 0.3);

/** The few words of a gate for a line in a list: 'from 12:20', 'stopped by'.
 * @param {any} g @param {any} view */
export function short(g, view) {
  const word = g.word || stateWord[g.state];
  if (g.state !== 'waits') return word;
  return g.until ? stateWord.waits + ' ' + clock(g.until, view.shop, now(view)) : g.needed ? answerWord.of(hours(g.counted), hours(g.needed)) : answerWord.waits;
}

/** What a gate is about; when nothing is left, all of it. @param {any} g */
export const about = (g) => (g.state === 'done' ? answerWord.all : (g.name || g.stage) + (where(g) ? ', ' + where(g) : ''));

/** The sentence of a gate, unless it only says its word again. @param {any} g @param {any} view */
export function sentence(g, view) {
  const text = marks(g.text, view.shop, now(view));
  return text === answerWord.start(g.name) ? '' : text;
}

/** Where a gate applies: a panel, a zone, or nothing for the whole vehicle. @param {any} g */
export const where = (g) => g.panel_name || g.panel || tr(g.zone) || '';

/** @param {any} view @param {any} g */
export function answer(view, g) {
  if (!g) return nothing;
  const at = now(view);
  const text = sentence(g, view), out = marks(g.out, view.shop, at), cond = marks(g.cond, view.shop, at);
  const bar = g.needed > 0 && g.state !== 'done' && g.state !== 'open' ? counted(g) : nothing;
  const title = ['now', g.stage, g.panel, g.zone].join('-');
  return html`<section class="answer at-${g.state}" data-testid="gate-now" data-state=${g.state} data-stage=${g.stage} data-panel=${g.panel} data-zone=${g.zone} aria-labelledby=${title}>
    <h2 id=${title} class="tape">${g.state === 'done' ? answerWord.all : html`${g.name || g.stage}${where(g) ? html` <span class="where">${where(g)}</span>` : nothing}`}</h2>
    ${g.waived ? html`<p class="passed small">${answerWord.passed}</p>` : nothing}
    ${g.ask ? html`<span class="dot big" aria-hidden="true">${g.ask}</span>` : nothing}
    <p class="word is-${g.state}">${shape(g.state, part(g))}<span>${word(view, g)}</span>${digits(view, g, at)}</p>
    ${text ? html`<p class="fact">${text}</p>` : nothing}
    ${out && out !== text ? html`<p class="out">${out}</p>` : nothing}
    ${bar}${burning(view, g, at)}
    ${cond && cond !== text ? html`<p class="cond">${cond}</p>` : nothing}
    ${g.state === 'waits' && g.until ? html`<p class="cond small">${answerWord.asleep}</p>` : nothing}
    ${without(view, at)}
  </section>`;
}

/** @param {any} view @param {any} g */
function word(view, g) {
  if (g.state === 'waits' && g.until > now(view) && g.until - now(view) < SOON) return answerWord.from(clock(g.until, view.shop, now(view)));
  if (g.state === 'waits') return g.until ? stateWord.waits : answerWord.waits;
  if (g.state === 'unknown' && !view.climate && !received()) return answerWord.notYet;
  return g.word || stateWord[g.state];
}

/** The number to read from 2 m: from when, or how long the wipe still is good.
 * @param {any} view @param {any} g @param {number} at */
function digits(view, g, at) {
  if (g.state === 'waits' && g.until) {
    const until = clock(g.until, view.shop, at), left = g.until - at;
    // Short waits, as for primer, are told as minutes that are left.
    if (left > 0 && left < SOON) return html`<span class="digits">${Math.ceil(left / 60_000)}<small>min</small></span>`;
    const time = until.slice(until.lastIndexOf(' ') + 1), day = until.slice(0, -time.length).trim();
    return html`${day ? html`<span class="digits day">${day}</span>` : nothing}<time class="digits">${time}</time>`;
  }
  const left = wipeLeft(view, g, at);
  return left ? html`<span class="digits">${Math.floor(left / 60_000)}<small>min</small></span>` : nothing;
}

/** How long the wipe of the gate's panel still is good, in ms; 0 if it is not.
 * @param {any} view @param {any} g @param {number} at */
function wipeLeft(view, g, at) {
  const wipe = g.state === 'open' && g.panel && (view.panels ?? []).find((/** @type {any} */ p) => p.id === g.panel)?.wipe;
  return wipe && wipe.state === 'good' ? Math.max(0, wipe.until - at) : 0;
}

/** The same as a bar that burns down. @param {any} view @param {any} g @param {number} at */
function burning(view, g, at) {
  const left = wipeLeft(view, g, at);
  return left ? squeegee(Math.min(1, left / WIPE), `${wipeWord.good}: ${hours(left)}`, 'burns') : nothing;
}

const SOON = 60 * 60_000;

/** How long a wipe lasts when nobody says: only for how full a bar is drawn. */
const WIPE = 30 * 60_000;

/** Hours that count, with the word of what they do now. @param {any} g */
export function counted(g) {
  const words = answerWord[g.running ? 'counting' : g.counted > 0 ? 'paused' : 'notStarted'](hours(g.counted), hours(g.needed));
  return squeegee(part({ ...g, needed: g.needed || 1 }), words, g.running ? '' : 'paused');
}

/** Film pressed down from the left behind a squeegee. @param {number} share 0 to 1 @param {string} words @param {string} how */
function squeegee(share, words, how) {
  const x = share * 100;
  return html`<div class="bar ${how}"><p>${words}</p>
    <svg preserveAspectRatio="none" viewBox="0 0 100 10" aria-hidden="true">
      <defs><pattern id="hatch" width="3" height="10" patternUnits="userSpaceOnUse"><path d="M0 0h1.5v10H0z" class="hatch"/></pattern></defs>
      ${x > 0 ? svg`<path class="pressed" d=${`M0 0H${(x + 1.2).toFixed(1)}L${(x - 1.2).toFixed(1)} 10H0z`}/>
      <path class="blade" d=${`M${(x + 1.2).toFixed(1)} 0h1.2l-2.4 10h-1.2z`}/>` : nothing}</svg></div>`;
}
