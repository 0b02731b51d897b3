// @ts-check
// The link that the lead or the desk gives to a vehicle's owner: who gets it and
// for how long, then the code to scan and the address to send. The shop server
// shows it once; afterwards it is only known that it was given.

import { html, nothing, sentence, t, words } from '../tongue.js';
import { clock } from '../marks.js';
import { app, home, job, now, paint } from './app.js';
import { noted, refuse } from './acts.js';
import { refusal } from './dock.js';
import { netMark } from './net.js';
import { shape, state } from './shapes.js';

const DAY = 24 * 3600_000;

/** How long a link lasts, and the words of that. */
const spans = [3 * DAY, 14 * DAY, 42 * DAY];

/** Words of the screen. @type {Record<string, any>} */
const word = words({
  spans: ['3 days', '2 weeks', '6 weeks'],
  title: 'Link for the owner', to: 'Who gets it, by name', lasts: 'Good for', give: 'Make the link', needsName: 'Type who gets the link.',
  once: 'Shown once. Whoever has it can answer and sign for this vehicle.', near: 'This address works on the shop\'s wifi only.',
  copy: 'Copy the address', copied: 'Copied. Paste it into a message.', share: 'Send it', list: 'Links given', none: 'No link was given yet.', takeBack: 'Take back',
  taken: 'Taken back.', over: 'Over.', away: 'The shop server cannot be reached. A link needs it.', only: 'The lead or the desk gives links.',
  picture: 'Picture to scan with the owner\'s phone', vehicle: 'The vehicle',
});

/** The screen's own state, of the job that it was opened for. @type {{job: string, to: string | null, lasts: number, given: any, list: any[] | null, at: number, asking: boolean}} */
const own = { job: '', to: null, lasts: spans[1], given: null, list: null, at: -Infinity, asking: false };

const FRESH = 5000; // ms

/** @param {string} path @param {object} [body] */
async function ask(path, body) {
  const response = await fetch(path, body && { method: 'POST', body: JSON.stringify(body) });
  if (!response.ok) throw new Error(sentence((await response.text()).trim()));
  return response;
}

/** @param {unknown} error */
const why = (error) => (error instanceof TypeError ? word.away : error instanceof Error ? error.message : String(error));

/** The links as they were a moment ago; asks again and paints. @param {string} id */
function links(id) {
  if (performance.now() - own.at > FRESH && document.visibilityState === 'visible') {
    own.at = performance.now();
    ask('/links/' + id).then(async (r) => { own.list = await r.json(); }, (error) => { if (!app.refused) refuse(why(error)); }).then(paint);
  }
  return own.list ?? [];
}

export function ownerLinkScreen() {
  const view = job(), id = app.route.id, shop = home()?.shop ?? {}, at = now(home());
  if (own.job !== id) Object.assign(own, { job: id, to: null, given: null, list: null, at: -Infinity });
  const list = links(id), may = ['lead', 'desk'].includes(home()?.me?.role);
  return html`
    <header class="top"><a class="press plain" href="#/job/${id}" aria-label=${word.vehicle}>${shape('back')}</a><h1 tabindex="-1">${word.title}</h1>${home() ? netMark(home()) : nothing}</header>
    <main class="screen narrow" data-testid="owner-links">
      ${refusal(app.refused)}
      <section class="lap stack" aria-labelledby="give-title"><h2 id="give-title">${[view?.label, view?.plate].filter(Boolean).join(', ') || word.title}</h2>
        ${own.given ? given(own.given, shop, at) : !view ? nothing : may ? html`
          <label class="field"><span>${word.to}</span><input data-testid="link-to" autocomplete="off" maxlength="60" .value=${own.to ?? view?.customer ?? ''} @input=${(/** @type {any} */ e) => { own.to = e.target.value; }}></label>
          <fieldset><legend>${word.lasts}</legend><div class="choice tight" role="group" aria-label=${word.lasts}>${spans.map((ms, i) => html`<button type="button" class="press" aria-pressed=${own.lasts === ms} data-testid="link-lasts-${ms / DAY}" @click=${() => { own.lasts = ms; paint(); }}>${word.spans[i]}</button>`)}</div></fieldset>
          <button type="button" class="press go wide" data-testid="link-give" ?disabled=${own.asking} @click=${() => give(id)}>${word.give}</button>` : html`<p class="fact">${word.only}</p>`}</section>
      <section class="lap stack" aria-labelledby="links-title"><h2 id="links-title">${word.list}</h2>
        ${list.length ? html`<ul class="plain-list held">${list.map((l) => html`<li data-testid="link:${l.to}"><span class="row wrap"><b>${l.to}</b>
          ${l.taken ? state('held', word.taken) : l.over ? state('held', word.over) : state('open', t`until ${clock(l.until, shop, at)}`)}</span>
          <p class="small quiet">${clock(l.at, shop, at)}, ${l.by}</p>
          ${l.over || !may ? nothing : html`<button type="button" class="press" data-testid="link-off:${l.to}" @click=${() => takeBack(id, l)}>${word.takeBack}</button>`}</li>`)}</ul>`
          : html`<p class="quiet">${word.none}</p>`}</section>
    </main>`;
}

/** @param {any} g @param {any} shop @param {number} at */
const given = (g, shop, at) => html`<p class="fact">${t`${g.to}, until ${clock(g.until, shop, at)}`}</p>
  <img class="invitation" alt=${word.picture} width="280" height="280" src=${'data:image/svg+xml,' + encodeURIComponent(g.svg)}>
  <p class="small address" data-testid="link-address">${g.url}</p>
  <p>${word.once}</p>${g.near ? html`<p class="fact">${word.near}</p>` : nothing}
  <div class="choice"><button type="button" class="press" data-testid="link-copy" @click=${() => navigator.clipboard.writeText(g.url).then(() => noted(word.copied), () => refuse(g.url))}>${word.copy}</button>
    ${'share' in navigator ? html`<button type="button" class="press" @click=${() => navigator.share({ url: g.url }).catch(() => {})}>${word.share}</button>` : nothing}</div>`;

/** @param {string} id */
async function give(id) {
  const to = (own.to ?? job()?.customer ?? '').trim();
  if (!to) return refuse(word.needsName);
  app.refused = '';
  own.asking = true;
  paint();
  try {
    own.given = { ...(await (await ask('/links/' + id, { by: home()?.me?.id ?? '', to, lasts: own.lasts })).json()), to };
    own.at = -Infinity;
  } catch (error) {
    refuse(why(error));
  }
  own.asking = false;
  paint();
}

/** @param {string} id @param {any} l */
async function takeBack(id, l) {
  app.refused = '';
  try {
    await ask(`/links/${id}/off`, { by: home()?.me?.id ?? '', sum: l.sum });
    own.at = -Infinity;
    noted(t`The link of ${l.to} is taken back.`);
  } catch (error) {
    refuse(why(error));
  }
  paint();
}
