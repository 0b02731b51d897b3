// @ts-check
// Spot checks: of what hands say is done, the shop server draws one in ten, on
// anybody, and another hand is asked to look. It holds nothing up. What was seen
// is a line like any other.

import { html, nothing, t, tr } from '../tongue.js';
import { clock } from '../marks.js';
import { app, now, paint } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { shape } from './shapes.js';

const NEWEST = 6; // that the board names
const OFTEN = 30_000; // ms between two questions

/** What the shop server drew, by vehicle; '' is what is open on all of them.
 * @type {Map<string, {asked: number, list: any[]}>} */
const drawn = new Map();

/** The check that is found wrong, while it is said what is. */
let wrong = '', what = '';

/** @param {string} job */
function of(job) {
  let it = drawn.get(job);
  if (!it) drawn.set(job, it = { asked: -OFTEN, list: [] });
  if (performance.now() - it.asked >= OFTEN && document.visibilityState === 'visible') {
    const asks = it;
    asks.asked = performance.now();
    fetch('/spots' + (job && '?' + new URLSearchParams({ job }))).then(async (r) => {
      if (!r.ok) return;
      asks.list = (await r.json()).spots;
      paint();
    }).catch(() => {}); // without the shop server nothing is drawn
  }
  return it.list;
}

/** @param {any} c */
const where = (c) => [tr(c.name), c.panel_name ?? c.zone].filter(Boolean).join(', ');

/** @param {any} c */
const key = (c) => [c.stage, c.panel, c.zone, c.at].join(' ');

/** What was drawn on a vehicle. @param {any} view */
export function spotChecks(view) {
  const list = of(view.id);
  if (!list.length) return nothing;
  const open = list.filter((c) => c.asked && !c.seen && !view.closed), rest = list.filter((c) => !open.includes(c));
  return html`<section class="lap stack" aria-labelledby="spots-title" data-testid="spots"><h2 id="spots-title">Spot check</h2>
    ${open.map((c) => ask(view, c))}
    ${rest.length ? html`<ul class="nights">${rest.map((c) => html`<li data-testid="spot-seen:${c.stage}"><b>${where(c)}:</b> ${c.seen ? html`${result(c.seen)} <span class="small quiet">${[c.seen.by, clock(c.seen.at, view.shop, now(view))].filter(Boolean).join(', ')}</span>` : t`nobody looked.`}</li>`)}</ul>` : nothing}
  </section>`;
}

/** @param {any} s */
const result = (s) => [s.looked ? (s.right ? t`found right.` : t`found wrong.`) : t`nobody could look.`, s.note, s.alone ? t`By the same hand.` : ''].filter(Boolean).join(' ');

/** @param {any} view @param {any} c */
const ask = (view, c) => html`<div class="stack" data-testid="spot:${c.stage}">
  <p class="fact">${t`Drawn: ${where(c)}, done ${clock(c.at, view.shop, now(view))}.`}</p>
  <p>${view.me && view.me.id === c.by ? t`You did it: let another hand look, if there is one.` : t`Look at it. Work goes on meanwhile.`}</p>
  ${wrong === key(c) ? html`<label class="field"><span>What is wrong?</span><input data-testid="spot-what" autocomplete="off" maxlength="200" .value=${what} @input=${(/** @type {any} */ e) => { what = e.target.value; }}></label>
    ${refusal(app.refused)}
    <div class="acts"><button type="button" class="act" @click=${() => { wrong = ''; paint(); }}>Back</button>
      <button type="button" class="act go" data-testid="spot-write" @click=${() => (what.trim() ? save(view, c, 1, false, what.trim()) : refuse(t`Type it first.`))}>Write it down</button></div>`
    : html`<div class="acts"><button type="button" class="act" data-testid="spot-right" @click=${() => save(view, c, 1, true, '')}>Found right</button>
      <button type="button" class="act" data-testid="spot-wrong" @click=${() => { wrong = key(c); what = ''; paint(); }}>Found wrong</button>
      <button type="button" class="act low" data-testid="spot-not" @click=${() => save(view, c, 0, false, '')}>Nobody can look now</button></div>`}
</div>`;

/** @param {any} view @param {any} c @param {number} looked @param {boolean} right @param {string} note */
async function save(view, c, looked, right, note) {
  const body = { what: 'spot-check', feature: c.stage, panel: c.panel, zone: c.zone, passed: right, count: 0, of: looked, note };
  if (!await write({ log: ofJob(view.id), kind: 'evidence', body }, t`Noted: ${where(c)}, ${result({ looked, right, note: '' })}`)) return;
  c.seen = { looked, right, note, at: now(view), by: '' };
  wrong = '';
  drawn.delete(''); // the board asks anew
  paint();
}

/** What nobody has looked at yet, for the board. @param {any} view */
export function spotsOpen(view) {
  const list = of('');
  return list.length ? html`<section class="lap" data-testid="spots-open"><h2>Spot checks drawn</h2><ul class="nights">${list.sort((a, b) => b.at - a.at).slice(0, NEWEST).map((c) => html`<li class="row wrap"><a class="press" href="#/job/${c.job}">${c.label}</a>
    <span>${where(c)}, ${clock(c.at, view.shop, now(view))}</span></li>`)}</ul>${list.length > NEWEST ? html`<p>${t`${list.length - NEWEST} more`}</p>` : nothing}<p class="small row">${shape('unknown')}${t`One in ten, drawn by the lines themselves. Another hand looks.`}</p></section>` : nothing;
}
