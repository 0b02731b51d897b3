// @ts-check
// The shop has a new address: how this phone goes there, and for the lead who has
// not gone yet. Both take the shop in reach, so they are fetched from it.

import { html, nothing, sentence, t } from '../tongue.js';
import { clock } from '../marks.js';
import { app, home, now, paint } from './app.js';
import { refuse } from './acts.js';
import { refusal } from './dock.js';
import { netMark } from './net.js';
import { onPhone } from './phonebook.js';
import { shape } from './shapes.js';

const FRESH = 5000; // ms

/** What the shop gave this phone to go by. @type {any} */
let ticket = null;
let asking = false;

/** #/moved. A browser keeps an app's lines and keys by address, so this phone
 * takes nothing along: all it has goes to the shop first. */
export function movedScreen() {
  const view = home(), { status: { waiting, photosWaiting = 0 } } = onPhone();
  const held = waiting + photosWaiting, to = view?.net?.moved;
  return html`
    <header class="top"><a class="press plain" href="#/" aria-label="All vehicles">${shape('back')}</a><h1 tabindex="-1">New address</h1>${netMark(view)}</header>
    <main class="screen narrow" data-testid="moved-screen"><section class="lap stack">
      ${refusal(app.refused)}
      ${!to ? html`<p class="fact">This is the shop's address.</p>` : html`
        <p class="fact">${t`This shop is at ${to} now.`}</p>
        <p>This phone joins anew there. All else comes from the shop by itself.</p>
        ${waiting === undefined ? nothing : held ? html`<p class="fact" data-testid="moved-held">${held === 1 ? t`1 line or photo goes first. Nothing to do.` : t`${held} lines and photos go first. Nothing to do.`}</p>`
          : ticket ? way(ticket, view)
          : html`<p class="fact">Everything from this phone is at the shop.</p>
            <button type="button" class="press go wide" data-testid="moved-go" ?disabled=${asking} @click=${() => go(held)}>Go to the new address</button>`}`}
    </section></main>`;
}

/** @param {any} i @param {any} view */
const way = (i, view) => html`
  ${i.page ? html`<p>If this phone does not trust that address yet, start here:</p><a class="press wide" data-testid="moved-trust" href=${i.page}>Let this phone trust it</a>` : nothing}
  <a class="press go wide" data-testid="moved-link" href=${i.url}>${t`Join at ${i.to}`}</a>
  <p>From the home screen: remove this app, put the new one there, and type</p><p class="fact" data-testid="moved-code">${i.code}</p>
  <img class="invitation" alt="Picture to scan with the other phone" width="280" height="280" src=${'data:image/svg+xml,' + encodeURIComponent(i.svg)}>
  <p class="small quiet">${t`For this phone, until ${clock(i.until, view?.shop ?? {}, now(view))}. Write nothing here any more.`}</p>`;

/** @param {number} holds */
async function go(holds) {
  asking = true;
  app.refused = '';
  paint();
  try {
    const response = await fetch('/move', { method: 'POST', body: JSON.stringify({ holds }) });
    if (response.ok) ticket = await response.json();
    else refuse(sentence((await response.text()).trim()));
  } catch {
    refuse(t`The shop is out of reach. Go where its wifi reaches, and tap again.`);
  } finally {
    asking = false;
    paint();
  }
}

/** What the lead was told. @type {{at: number, left: any[]}} */
const known = { at: -Infinity, left: [] };

/** The phones that still go by an address which the shop has left. */
export function leftBehind() {
  if (performance.now() - known.at > FRESH && document.visibilityState === 'visible') {
    known.at = performance.now();
    fetch('/origins').then(async (r) => { if (r.ok) known.left = (await r.json()).left; }, () => {}).then(paint);
  }
  const view = home(), shop = view?.shop ?? {}, at = now(view);
  return known.left.map((l) => html`<section class="lap stack" data-testid="left:${l.origin}"><h2>Still at the old address</h2>
    <p class="fact">${l.origin}</p>
    ${l.why ? html`<p class="refused">${sentence(l.why)}</p>` : html`<p>It stays served until these phones have moved.</p>`}
    <ul class="plain-list held">${l.phones.map((/** @type {any} */ p) => html`<li data-testid="left-phone:${p.name}"><b>${p.name}</b>
      <p class="small">${t`Last heard ${clock(p.at, shop, at)}.`} ${p.holds ? t`It came with ${p.holds} lines and photos to bring.` : nothing}</p></li>`)}</ul>
    <p class="small quiet">Open the app there on each. Take off one that is lost.</p></section>`);
}
