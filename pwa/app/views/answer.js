// @ts-check
// 'May I start, and if not, when and why', in one glance. The word and the
// time are read from 2 m; the sentence from arm's length.

import { html, svg, nothing } from '../vendor/lit-html.js';
import { clock, hours, marks } from '../marks.js';
import { shape } from './shapes.js';
import { stateWord } from './words.js';
import { now } from './app.js';
import { without } from './net.js';

/** How much of the needed hours counts so far, 0 to 1. @param {any} g */
export const part = (g) => (g?.needed > 0 ? Math.min(1, (g.counted || 0) / g.needed) : 0.3);

/** The few words of a gate for a line in a list: 'from 12:20', 'stopped by'.
 * @param {any} g @param {any} view */
export function short(g, view) {
  const word = g.word || stateWord[g.state];
  if (g.state !== 'waits') return word;
  return g.until ? 'from ' + clock(g.until, view.shop, now(view)) : g.needed ? hours(g.counted) + ' of ' + hours(g.needed) : 'waits';
}

/** What a gate is about; when nothing is left, all of it. @param {any} g */
export const about = (g) => (g.state === 'done' ? 'All steps' : (g.name || g.stage) + (where(g) ? ', ' + where(g) : ''));

/** The sentence of a gate, unless it only says its word again. @param {any} g @param {any} view */
export function sentence(g, view) {
  const text = marks(g.text, view.shop, now(view));
  return text === `Start now: ${g.name}.` ? '' : text;
}

/** Where a gate applies: a panel, a zone, or nothing for the whole vehicle. @param {any} g */
export const where = (g) => g.panel_name || g.panel || g.zone || '';

/** @param {any} view @param {any} g */
export function answer(view, g) {
  if (!g) return nothing;
  const at = now(view);
  const text = sentence(g, view), out = marks(g.out, view.shop, at), cond = marks(g.cond, view.shop, at);
  const until = g.until ? clock(g.until, view.shop, at) : '';
  const bar = g.needed > 0 && g.state !== 'done' && g.state !== 'open' ? counted(g) : null;
  const offline = without(view, at);
  const title = ['now', g.stage, g.panel, g.zone].join('-');
  return html`<section class="lap answer at-${g.state}" data-testid="gate-now" data-state=${g.state} aria-labelledby=${title}>
    <div class="under">
      <h2 id=${title}>${g.state === 'done' ? 'All steps' : html`${g.name || g.stage}${where(g) ? html`<span class="where">${where(g)}</span>` : nothing}`}</h2>
      ${g.waived ? html`<span class="tape small">lead's go-ahead</span>` : nothing}
    </div>
    <p class="word is-${g.state}">${shape(g.state, part(g))}<span>${word(g)}</span>
      ${g.state === 'waits' && g.until ? html`<time class="digits ${until.length > 5 ? 'long' : ''}">${until}</time>` : nothing}</p>
    ${bar && g.state === 'waits' ? bar : nothing}
    ${text ? html`<p class="fact">${text}</p>` : nothing}
    ${out && out !== text ? html`<p class="out">${out}</p>` : nothing}
    ${bar && g.state !== 'waits' ? bar : nothing}
    ${cond && cond !== text ? html`<p class="cond">${cond}</p>` : nothing}
    ${g.state === 'waits' && g.until ? html`<p class="cond small">Asleep, a phone cannot ring. Look again then.</p>` : nothing}
    ${offline ? html`<p class="cond">${offline}</p>` : nothing}
  </section>`;
}

/** @param {any} g */
function word(g) {
  if (g.state === 'waits') return g.until ? 'from' : 'waits';
  return g.word || stateWord[g.state];
}

/** Hours that count, with the word of what they do now. @param {any} g */
export function counted(g) {
  const width = (part(g) * 100).toFixed(1);
  const words = `${hours(g.counted)} of ${hours(g.needed)}, ${g.running ? 'counting' : g.counted > 0 ? 'paused' : 'not started'}`;
  return html`<div class="bar ${g.running ? '' : 'paused'}" role="img" aria-label="Hours that count: ${words}">
    <svg preserveAspectRatio="none" viewBox="0 0 100 10" aria-hidden="true">
      <defs><pattern id="hatch" width="3" height="10" patternUnits="userSpaceOnUse"><path d="M0 0h1.5v10H0z" class="hatch"/></pattern></defs>
      <rect width=${width} height="10"/>${g.counted > 0 ? svg`<rect class="rim" x=${Math.max(0, Number(width) - 1)} width="1" height="10"/>` : nothing}</svg>
    <p aria-hidden="true">${words}</p></div>`;
}
