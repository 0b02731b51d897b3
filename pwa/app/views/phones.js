// @ts-check
// The lead's list of the shop's phones: who joins, who is taken off, and the PIN
// by which a lead's acts count from a shared one. It takes the shop in reach, so
// it is fetched when a lead goes there.

import { html, nothing, sentence, t } from '../tongue.js';
import { clock } from '../marks.js';
import { app, home, now, paint } from './app.js';
import { noted, refuse } from './acts.js';
import { refusal } from './dock.js';
import { leftBehind } from './moved.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';

/** @type {{at: number, list: any[] | null, pins: any[], grants: any[], failed: string, invited: any, opened: any}} */
const known = { at: -Infinity, list: null, pins: [], grants: [], failed: '', invited: null, opened: null };
const form = { pin: '', person: '', bay: '', job: '' };
const FRESH = 5000; // ms

/** @param {string} path @param {RequestInit} [how] @returns {Promise<Response>} */
async function ask(path, how) {
  const response = await fetch(path, how);
  if (!response.ok) throw new Error(response.status === 403 || response.status === 401 ? t`Only the lead's own phone shows this.` : (await response.text()).trim());
  return response;
}

/** @param {string} path @param {any} [body] */
const post = (path, body) => ask(path, { method: 'POST', body: JSON.stringify(body ?? {}) });

/** What went wrong, as a person reads it. @param {unknown} error */
const told = (error) => (error instanceof TypeError ? t`The shop is out of reach.` : sentence(error instanceof Error ? error.message : String(error)));

/** The lists as they were a moment ago; asks again and paints. */
function phones() {
  if (performance.now() - known.at > FRESH && document.visibilityState === 'visible') {
    known.at = performance.now();
    Promise.all(['/devices', '/pin', '/grants'].map(async (path) => (await ask(path)).json())).then(([list, pins, grants]) => {
      if (known.invited && list.length > known.invited.phones) { // it was good for one phone
        known.invited = null;
        noted(t`A phone joined.`);
      }
      Object.assign(known, { list, pins, grants, failed: '' });
    }, (error) => { known.failed = told(error); }).then(paint);
  }
  return known.list ?? [];
}

export function phonesScreen() {
  const view = home(), list = phones(), people = view?.people ?? [], shop = view?.shop ?? {}, at = now(view);
  return html`
    <header class="top"><a class="press plain" data-testid="to-shop" href="#/setup" aria-label="The shop">${shape('back')}</a><h1 tabindex="-1">Phones</h1>${netMark(view)}</header>
    <main class="screen narrow" data-testid="phones">
      ${refusal(app.refused || known.failed)}
      <section class="lap stack" aria-labelledby="invite-title"><h2 id="invite-title">Let a phone join</h2>
        ${choose(t`For whom`, 'invite-person', 'person', t`Anybody: it is shared`, people)}
        <div class="row wrap"><button type="button" class="press go" data-testid="invite-crew" @click=${() => invite('crew')}>A crew phone</button>
          <button type="button" class="press" data-testid="invite-lead" @click=${() => invite('lead')}>A lead's own phone</button></div>
        ${known.invited ? invitation(known.invited, shop, at) : nothing}</section>
      ${view?.me?.role === 'lead' && known.list ? pinOf(view.me, shop, at) : nothing}
      <section class="lap stack" aria-labelledby="list-title"><h2 id="list-title">Phones of the shop</h2>
        <ul class="plain-list held">${list.map((d) => html`<li data-testid="phone:${d.name}"><span class="row wrap"><b>${d.name.replace(/^Phone (\d+)$/, (/** @type {string} */ _, /** @type {string} */ n) => t`Phone ${n}`)}</b><span class="small quiet">${d.role === 'lead' ? t`lead's own` : t`crew`}${d.me ? t`, this one` : ''}</span></span>
          <p class="small">${d.off ? t`Taken off ${clock(d.off, shop, at)}.` : d.again ? t`It joins again: the shop came from a backup.` : ''} ${d.online ? t`Connected now.` : d.at ? t`Last heard ${clock(d.at, shop, at)}.` : t`Not heard yet.`} ${d.holds && !d.online ? t`It came with ${d.holds} lines and photos to bring.` : ''}</p>
          ${d.opens?.length && !d.off ? html`<p class="small">${t`By PIN: ${d.opens.map((/** @type {any} */ o) => `${o.name} ${clock(o.from, shop, at)}`).join(', ')}.`}</p>` : nothing}
          ${d.off || d.me ? nothing : html`<button type="button" class="press" data-testid="off:${d.name}" @click=${() => takeOff(d)}>Take off the shop</button>`}</li>`)}</ul>
        <p class="small quiet">A phone that is taken off reads nothing more. What it still brings is set aside for you.</p></section>
      ${known.list ? html`${loggers(view, shop, at)}${calendars(view, shop, at)}` : nothing}
      ${leftBehind()}
    </main>`;
}

/** One of a list, or none of them. @param {string} label @param {string} id @param {'person' | 'bay' | 'job'} key @param {string} none @param {any[]} list */
const choose = (label, id, key, none, list) => html`<label class="field"><span>${label}</span><select data-testid=${id} @change=${(/** @type {any} */ e) => { form[key] = e.target.value; }}>
  <option value="" ?selected=${!form[key]}>${none}</option>${list.map((x) => html`<option value=${x.id} ?selected=${form[key] === x.id}>${x.name ?? x.label}</option>`)}</select></label>`;

/** What has a secret: a bay's logger. @param {any} view @param {any} shop @param {number} at */
function loggers(view, shop, at) {
  const bays = (view?.places ?? []).filter((/** @type {any} */ p) => p.sort !== 'yard');
  return html`<section class="lap stack" aria-labelledby="loggers-title"><h2 id="loggers-title">Loggers</h2>
    <p>A logger writes the air of its bay, by a key.</p>
    ${grants('logger', shop, at)}
    ${choose(t`Bay`, 'logger-bay', 'bay', t`Choose the bay`, bays)}
    ${known.opened?.key ? html`<p class="fact">Copy it now: it is not shown again.</p><pre class="secret" data-testid="logger-key" tabindex="0">${known.opened.curl}</pre>
      <p class="small quiet">${t`root.pem vouches for the shop: ${location.hostname}, plain HTTP, has it.`}</p>${copy(known.opened.curl)}` : nothing}
    <button type="button" class="press wide" data-testid="logger-add" @click=${() => (form.bay ? makeGrant('logger', form.bay) : refuse(t`Choose the bay`))}>A key for this bay</button></section>`;
}

/** What has a secret: a calendar's address. @param {any} view @param {any} shop @param {number} at */
function calendars(view, shop, at) {
  return html`<section class="lap stack" aria-labelledby="calendars-title"><h2 id="calendars-title">Calendars</h2>
    <p>A calendar program reads the plan by a secret address. Whoever has the address reads it.</p>
    ${grants('calendar', shop, at)}
    ${choose(t`Of what`, 'calendar-job', 'job', t`The whole plan`, view?.jobs ?? [])}
    ${known.opened?.url ? html`<p class="fact">Copy it now: it is not shown again.</p><pre class="secret" data-testid="calendar-url" tabindex="0">${known.opened.url}</pre>${copy(known.opened.url)}` : nothing}
    <button type="button" class="press wide" data-testid="calendar-add" @click=${() => makeGrant('calendar', form.job)}>An address for it</button></section>`;
}

/** @param {string} sort @param {any} shop @param {number} at */
function grants(sort, shop, at) {
  const list = known.grants.filter((d) => d.sort === sort);
  return list.length ? html`<ul class="plain-list held">${list.map((d) => html`<li data-testid="grant:${d.sort}:${d.name}"><b>${d.all ? t`The whole plan` : d.name}</b>
    <p class="small">${t`Made ${clock(d.made, shop, at)}.`} ${d.used ? t`Last used ${clock(d.used, shop, at)}.` : t`Not used yet.`}</p>
    <button type="button" class="press" data-testid="end:${d.sort}:${d.name}" @click=${() => endGrant(d)}>Take it away</button></li>`)}</ul>` : nothing;
}

/** @param {string} text */
const copy = (text) => html`<button type="button" class="press" @click=${() => navigator.clipboard.writeText(text).then(() => noted(t`Copied.`), () => refuse(t`Not copied. Hold your finger on it.`))}>Copy</button>`;

/** @param {string} sort @param {string} about */
async function makeGrant(sort, about) {
  app.refused = '';
  try {
    known.opened = await (await post('/grants', { sort, about })).json();
    known.at = -Infinity;
    paint();
  } catch (error) {
    refuse(told(error));
  }
}

/** @param {any} d */
async function endGrant(d) {
  app.refused = '';
  try {
    await post(`/grants/${d.id}/off`);
    if (known.opened?.id === d.id) known.opened = null;
    known.at = -Infinity;
    noted(t`It opens nothing any more.`);
  } catch (error) {
    refuse(told(error));
  }
}

/** @param {any} i @param {any} shop @param {number} at */
const invitation = (i, shop, at) => html`${i.page ? html`<p class="fact">${t`1. New here? It first opens ${i.page} and trusts the shop.`}</p>
  <details data-testid="invite-trust"><summary>A picture for that</summary><img class="invitation" alt="Picture that leads to the page of trust" width="280" height="280" src=${'data:image/svg+xml,' + encodeURIComponent(i.page_svg)}></details>
  <p class="fact">2. Then it joins with this.</p>` : nothing}<img class="invitation" alt="Picture to scan with the other phone" width="280" height="280" src=${'data:image/svg+xml,' + encodeURIComponent(i.svg)}>
  <p>${t`Scan it, or open ${location.origin} and type`}</p><p class="fact" data-testid="invite-code">${i.code}</p>
  ${i.name ? html`<p>${t`It begins as ${i.name}'s.`}</p>` : nothing}<p class="small quiet">${t`For one phone, until ${clock(i.until, shop, at)}.`} ${i.role === 'lead' ? t`It joins as a lead's own: your go-ahead counts from there.` : t`It joins as a crew phone.`}</p>`;

/** @param {any} me @param {any} shop @param {number} at */
function pinOf(me, shop, at) {
  const mine = known.pins.find((p) => p.person === me.id) ?? {};
  return html`<section class="lap stack" aria-labelledby="pin-title"><h2 id="pin-title">${t`PIN of ${me.name}`}</h2>
    <p>On a crew phone it lets your acts as lead count, for 5 minutes each time.</p>
    <p class="small quiet" data-testid="pin-state">${mine.over ? t`Too many wrong PINs: it is off. Set another.` : mine.has ? t`Set ${clock(mine.set, shop, at)}.` : t`No PIN yet.`}</p>
    <label class="field"><span>New PIN, 4 to 8 digits</span><input type="password" inputmode="numeric" autocomplete="new-password" maxlength="8" class="pin" data-testid="pin-new" .value=${form.pin} @input=${(/** @type {any} */ e) => { form.pin = e.target.value; }}></label>
    <div class="row wrap"><button type="button" class="press go" data-testid="pin-keep" @click=${() => setPIN(me, form.pin)}>Keep the PIN</button>
      ${mine.has ? html`<button type="button" class="press" data-testid="pin-away" @click=${() => setPIN(me, '')}>Take it away</button>` : nothing}</div></section>`;
}

/** @param {any} me @param {string} pin '' takes it away */
async function setPIN(me, pin) {
  app.refused = '';
  if (!pin && !known.pins.some((p) => p.person === me.id && p.has)) return refuse(t`Type the PIN first.`);
  try {
    await post('/pin', { person: me.id, pin });
    form.pin = '';
    known.at = -Infinity;
    noted(pin ? t`The PIN counts from now on.` : t`The PIN is taken away.`);
  } catch (error) {
    refuse(told(error));
  }
}

/** @param {string} role */
async function invite(role) {
  app.refused = '';
  try {
    known.invited = { ...(await (await post('/invite', { role, person: form.person })).json()), role, phones: known.list?.length ?? Infinity, name: home()?.people?.find((/** @type {any} */ p) => p.id === form.person)?.name };
    paint();
  } catch (error) {
    refuse(t`No invitation: ${told(error)}`);
  }
}

/** @param {any} d */
async function takeOff(d) {
  app.refused = '';
  try {
    await post(`/devices/${d.id}/off`);
    known.at = -Infinity;
    noted(t`${d.name} is taken off.`);
  } catch (error) {
    refuse(t`Not taken off: ${told(error)}`);
  }
}
