// @ts-check
// The walk at close-up, in the order of the bays, made from what the shop has
// on tonight. Ticks stay on this phone until the next evening: they help the one
// who walks, and prove nothing.

import { html, nothing } from '../vendor/lit-html.js';
import { home, paint } from './app.js';
import { age, lead, none, told, ways } from './lead.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';
import { leadWord } from './words.js';

const KEPT = 'walk', NIGHT = 12 * 3_600_000;

/** @type {{at: number, done: string[]}} */
let walk = { at: 0, done: [] };
try { walk = JSON.parse(localStorage.getItem(KEPT) ?? '') ?? walk; } catch { /* none yet */ }

/** @param {string} key */
function tick(key) {
  if (Date.now() - walk.at > NIGHT) walk = { at: Date.now(), done: [] };
  walk.done = walk.done.includes(key) ? walk.done.filter((k) => k !== key) : [...walk.done, key];
  try { localStorage.setItem(KEPT, JSON.stringify(walk)); } catch { /* it holds until the page goes */ }
  paint();
}

export function walkScreen() {
  const view = home(), a = lead();
  /** @type {Map<string, any[]>} */
  const places = new Map();
  for (const item of a?.closing ?? []) places.set(item.name, [...(places.get(item.name) ?? []), item]);
  const done = Date.now() - walk.at > NIGHT ? [] : walk.done;
  const left = (a?.closing ?? []).filter((/** @type {any} */ i) => !done.includes(i.name + i.say)).length;
  return html`
    <header class="top"><a class="press plain" href="#/board" aria-label="Board">${shape('back')}</a><h1 tabindex="-1">${leadWord.walk}</h1><span class="push"></span>${view ? netMark(view) : nothing}</header>
    <main class="screen" data-testid="walk">${!a ? none() : html`
      ${age(a, view)}
      <p class="fact" role="status">${left ? leadWord.left(left) : leadWord.allSeen}</p>
      ${[...places].map(([name, items]) => html`<section class="lap walk"><h2 class="tape">${name}</h2><ul>${items.map((i) => {
        const key = i.name + i.say, is = done.includes(key);
        return html`<li><button type="button" class="press see" role="checkbox" aria-checked=${is ? 'true' : 'false'} data-testid="see:${name}" @click=${() => tick(key)}>
          ${is ? shape('done') : shape('bare')}<span>${i.first && !is ? html`<span class="flag">${shape('first')}${leadWord.tonight}</span> ` : nothing}<b>${told(i.say)}</b>${i.why ? html`<br><span class="small">${told(i.why)}</span>` : nothing}</span></button></li>`;
      })}</ul></section>`)}`}
      ${ways()}
    </main>`;
}
