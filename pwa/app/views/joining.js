// @ts-check
// Joining a shop, and the lead's list of its phones. Both take the shop in reach,
// so they are fetched from it when somebody goes there.

import { html, nothing, sentence, t } from '../tongue.js';
import { clock } from '../marks.js';
import { app, home, now, paint } from './app.js';
import { noted, refuse } from './acts.js';
import { refusal } from './dock.js';
import { leftBehind } from './moved.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';

const form = { code: '', name: '' };
let asking = false;

/** #/join/TOKEN from the picture, #/join to type the code. */
export function joinScreen() {
  const token = app.route.name === 'join' ? app.route.id : '';
  return html`
    <header class="top"><h1 tabindex="-1">Join the shop</h1><span class="push"></span>${netMark(home())}</header>
    <main class="screen narrow" data-testid="join"><section class="lap stack">
      ${refusal(app.refused)}
      ${token ? html`<p class="fact">${t`This phone joins ${location.hostname}.`}</p>`
        : html`<p class="fact">This phone has not joined this shop yet.</p><p>The lead shows a picture to scan, and a code.</p>
          <label class="field"><span>Code</span><input data-testid="join-code" autocomplete="off" autocapitalize="characters" .value=${form.code} @input=${(/** @type {any} */ e) => { form.code = e.target.value; }}></label>`}
      <label class="field"><span>Name of this phone, such as: bay phone 2</span><input data-testid="join-name" autocomplete="off" maxlength="40" .value=${form.name} @input=${(/** @type {any} */ e) => { form.name = e.target.value; }}></label>
      <button type="button" class="press go wide" data-testid="join-go" ?disabled=${asking} @click=${() => joinNow(token)}>Join</button>
      <p class="small quiet">On an iPhone put the app on the home screen first, and type the code there: it shares nothing with the browser.</p>
    </section></main>`;
}

/** @param {string} token */
async function joinNow(token) {
  if (!token && !form.code.trim()) return refuse(t`Type the code that the lead shows.`);
  asking = true;
  app.refused = '';
  paint();
  try {
    const answer = await app.shop.ask('join', { token, code: token ? '' : form.code, name: form.name });
    if (answer.refused) return refuse(answer.refused);
    form.code = '';
    location.replace('#/'); // the picture's word is used: it leaves the address
    noted(t`This phone belongs to the shop.`);
  } catch {
    refuse(t`The shop is out of reach. Go where its wifi reaches, and tap again.`);
  } finally {
    asking = false;
    paint();
  }
}

/** @type {{at: number, list: any[] | null, failed: string, invited: any}} */
const known = { at: -Infinity, list: null, failed: '', invited: null };
const FRESH = 5000; // ms

/** @param {string} path @param {RequestInit} [how] @returns {Promise<Response>} */
async function ask(path, how) {
  const response = await fetch(path, how);
  if (!response.ok) throw new Error(response.status === 403 || response.status === 401 ? t`Only the lead's own phone shows this.` : (await response.text()).trim());
  return response;
}

/** The list as it was a moment ago; asks again and paints. */
function phones() {
  if (performance.now() - known.at > FRESH && document.visibilityState === 'visible') {
    known.at = performance.now();
    ask('/devices').then(async (r) => { known.list = await r.json(); known.failed = ''; }, (error) => { known.failed = error instanceof TypeError ? t`The shop is out of reach.` : error.message; }).then(paint);
  }
  return known.list ?? [];
}

export function phonesScreen() {
  const view = home(), list = phones(), shop = view?.shop ?? {}, at = now(view);
  return html`
    <header class="top"><a class="press plain" href="#/setup" aria-label="The shop">${shape('back')}</a><h1 tabindex="-1">Phones</h1><span class="push"></span>${netMark(view)}</header>
    <main class="screen narrow" data-testid="phones">
      ${refusal(app.refused || known.failed)}
      <section class="lap stack" aria-labelledby="invite-title"><h2 id="invite-title">Let a phone join</h2>
        <div class="row wrap"><button type="button" class="press go" data-testid="invite-crew" @click=${() => invite('crew')}>A crew phone</button>
          <button type="button" class="press" data-testid="invite-lead" @click=${() => invite('lead')}>A lead's own phone</button></div>
        ${known.invited ? invitation(known.invited, shop, at) : nothing}</section>
      <section class="lap stack" aria-labelledby="list-title"><h2 id="list-title">Phones of the shop</h2>
        <ul class="plain-list held">${list.map((d) => html`<li data-testid="phone:${d.name}"><span class="row wrap"><b>${d.name}</b><span class="small quiet">${d.role === 'lead' ? t`lead's own` : t`crew`}${d.me ? t`, this one` : ''}</span></span>
          <p class="small">${d.off ? t`Taken off ${clock(d.off, shop, at)}.` : ''} ${d.online ? t`Connected now.` : d.at ? t`Last heard ${clock(d.at, shop, at)}.` : t`Not heard yet.`} ${d.holds && !d.online ? t`It came with ${d.holds} lines and photos to bring.` : ''}</p>
          ${d.off || d.me ? nothing : html`<button type="button" class="press" data-testid="off:${d.name}" @click=${() => takeOff(d)}>Take off the shop</button>`}</li>`)}</ul>
        <p class="small quiet">A phone that is taken off reads nothing more. What it still brings is set aside for you.</p></section>
      ${leftBehind()}
    </main>`;
}

/** @param {any} i @param {any} shop @param {number} at */
const invitation = (i, shop, at) => html`<img class="invitation" alt="Picture to scan with the other phone" width="280" height="280" src=${'data:image/svg+xml,' + encodeURIComponent(i.svg)}>
  <p>${t`Scan it, or open ${new URL(i.url).origin} and type`}</p><p class="fact" data-testid="invite-code">${i.code}</p>
  <p class="small quiet">${t`For one phone, until ${clock(i.until, shop, at)}.`} ${i.role === 'lead' ? t`It joins as a lead's own: your go-ahead counts from there.` : t`It joins as a crew phone.`}</p>`;

/** @param {string} role */
async function invite(role) {
  app.refused = '';
  try {
    known.invited = { ...(await (await ask('/invite', { method: 'POST', body: JSON.stringify({ role }) })).json()), role };
    paint();
  } catch (error) {
    refuse(t`No invitation: ${sentence(String(error instanceof Error ? error.message : error))}`);
  }
}

/** @param {any} d */
async function takeOff(d) {
  app.refused = '';
  try {
    await ask(`/devices/${d.id}/off`, { method: 'POST' });
    known.at = -Infinity;
    noted(t`${d.name} is taken off.`);
  } catch (error) {
    refuse(t`Not taken off: ${sentence(String(error instanceof Error ? error.message : error))}`);
  }
}
