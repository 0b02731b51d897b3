// @ts-check
// Who am I: touch your initials. Never a log-in, never a log-out.

import { html, t } from '../tongue.js';
import { app, closeSheet, home } from './app.js';
import { noted, refuse } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';
import { roleWord } from './words.js';

/** Six shapes, outlined and then filled: a hand finds its own without reading.
 * @param {number} n which in the crew */
const badge = (n) => `badge shape-${n % 6}${n % 12 > 5 ? ' filled' : ''}`;

/** @param {any} s */
export function whoSheet(s) {
  const people = home()?.people ?? [];
  return sheet(t`Who are you?`, html`${refusal(app.refused)}
    <div class="people">${people.map((/** @type {any} */ p, /** @type {number} */ n) => html`<button type="button" class="press" data-testid="person:${p.initials}"
      aria-pressed=${home()?.me?.id === p.id} @click=${() => choose(p, s.then)}><b class=${badge(n)}>${p.initials}</b><span>${p.name}<br><span class="small">${roleWord[p.role] ?? p.role}</span></span></button>`)}</div>
    ${people.length ? '' : html`<p>No crew written down yet. <a href="#/setup" @click=${closeSheet}>Write down the crew.</a></p>`}`);
}

/** @param {any} p @param {(() => void) | undefined} then what waited for a name */
async function choose(p, then) {
  const answer = await app.shop.ask('me', { person: p.id });
  if (answer?.refused) return refuse(answer.refused);
  closeSheet();
  noted(t`You are ${p.name}.`, undefined, undefined, 4000);
  if (!then) return;
  const view = home();
  if (view) view.me = p; // the worker knows already; its view is on the way
  then();
}
