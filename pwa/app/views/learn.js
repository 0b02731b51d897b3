// @ts-check
// What the shop learns from its past vehicles: where they stand and for what,
// what the air cost, what did not hold, and records to ask about. The shop
// server counts, and tells while it has not counted all. Every plot says in
// words beside it what it shows, and each part has its table.

import { html, locale, nothing, svg, t, tr, words } from '../tongue.js';
import { hours } from '../marks.js';
import { app, home, now, paint } from './app.js';
import { told } from './lead.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';

/** The words of this screen, which no phone carries. @type {Record<string, any>} */
const w = words({
  title: 'What we learn', asking: 'Asking the shop server.', cannot: 'The shop server cannot be reached. Counting needs it.', table: 'All of it as a table',
  waits: 'Where vehicles stand', waitsHow: 'The longest together first. Nights and Sundays are in it.', why: 'For',
  air: 'Hours that did not count', airHow: 'Drying and rest that were asked for, by bay and month.',
  looks: 'What did not hold', looksHow: 'Of what was looked at again. The line is the range.',
  few: 'Shapes, films and primer cannot be told apart yet.', apart: 'By shape, film, stretch and primer',
  quick: 'Records to ask about', noQuick: 'No record has its steps in one minute.', asTable: 'As a table', how: 'How to read this',
  step: 'Step', vehicles: 'Vehicles', here: 'Still there', half: 'Half under', from: 'from', to: 'to', place: 'Bay', month: 'Month', asked: 'Asked for', lost: 'Did not count', what: 'What', failed: 'Failed', lookedAt: 'Looked at',
  months: (/** @type {number} */ n) => (n === 12 ? t`1 year` : n === 36 ? t`3 years` : t`${n} months`),
  jobs: (/** @type {number} */ n, /** @type {number} */ open) => (n ? t`${n} vehicles, ${open} of them still here.` : t`No vehicle came in that time.`),
  left: (/** @type {number} */ n, /** @type {number} */ left) => t`Counting: ${n} vehicles done, ${left} to go.`,
  more: (/** @type {number} */ n) => t`${n} more`,
  notes: (/** @type {number} */ n) => [
    t`A range holds the truth 19 times of 20.`, t`Who still stands there counts as longer than so far.`, t`Panels of one vehicle are alike: take ranges a little wider.`,
    ...(n ? [t`${n} comparisons were made, each judged the more strictly for it.`] : []), t`What stands together need not be the cause.`, t`Nobody is named here, and nobody ranked.`],
});

const AGAIN = 10 * 60_000; // ms until an open screen asks anew

/** How far back, and the last answer with how far back it goes. */
let months = 12, asking = false, failed = false, asked = -AGAIN;
/** @type {any} */
let answer = null;

async function ask() {
  asking = true;
  asked = performance.now();
  const back = months;
  try {
    const response = await fetch('/learn?' + new URLSearchParams({ months: String(back) }));
    if (!response.ok) throw new Error(String(response.status));
    answer = { back, ...await response.json() };
    failed = false;
  } catch {
    failed = true;
  }
  asking = false;
  // What is not counted yet is counted while the screen is open, and another
  // length that was touched meanwhile is asked for.
  if (!failed && app.route.name === 'learn' && (answer.left > 0 || back !== months)) ask();
  paint();
}

export function learnScreen() {
  const view = home(), shop = view?.shop ?? {};
  if (!asking && document.visibilityState === 'visible' && (performance.now() - asked >= AGAIN || answer && answer.back !== months && !failed)) ask();
  const a = answer;
  return html`
    <header class="top"><a class="press plain" href="#/board" aria-label="Board">${shape('back')}</a><h1 tabindex="-1">${w.title}</h1>${view ? netMark(view) : nothing}</header>
    <main class="screen narrow learn" data-testid="learn">
      <div class="choice tight" role="group" aria-label="How far back">${[3, 12, 36].map((n) => html`
        <button type="button" class="press" aria-pressed=${months === n} data-testid="months:${n}" @click=${() => { months = n; if (!asking) ask(); paint(); }}>${w.months(n)}</button>`)}</div>
      ${failed ? html`<p class="caution">${shape('phone')}<span>${w.cannot}</span></p>` : nothing}
      ${!a ? html`<p class="lap fact">${failed ? nothing : w.asking}</p>` : html`
        <p class="fact call" role="status" data-testid="counted">${a.left ? w.left(a.jobs, a.left) : w.jobs(a.jobs, a.running)}</p>
        ${a.jobs ? html`${waits(a)}${air(a, shop)}${looks(a)}${quick(a)}
          <section class="lap"><h2>${w.how}</h2><ul class="nights">${w.notes(a.compared).map((/** @type {string} */ s) => html`<li>${s}</li>`)}</ul>
            ${a.left ? nothing : html`<a class="press" href="/learn.csv?months=${a.back}" download="learn.csv">${w.table}</a>`}</section>` : nothing}`}
    </main>`;
}

// Where vehicles stand. Times go from minutes to weeks, so each mark on the
// scale is several times the one before it.

const W = 640, LEFT = 12, SHORT = 5 * 60_000, LONG = 30 * 86_400_000;
/** @param {number} ms */
const along = (ms) => (LEFT + (Math.log(Math.max(SHORT, Math.min(LONG, ms)) / SHORT) / Math.log(LONG / SHORT)) * (W - 2 * LEFT)).toFixed(1);
/** @type {[number, string][]} */
const SCALE = [[600_000, '10 min'], [3_600_000, '1 h'], [8 * 3_600_000, '8 h'], [86_400_000, '1 d'], [7 * 86_400_000, '7 d']];

const SHOWN = 6;

/** @param {any} a */
function waits(a) {
  const all = a.waits;
  if (!all.length) return nothing;
  return html`<section class="lap stack" aria-labelledby="waits-title"><h2 id="waits-title">${w.waits}</h2>
    <p class="small quiet">${w.waitsHow}</p>
    <ul class="learnt">${all.slice(0, SHOWN).map(wait)}</ul>
    ${all.length > SHOWN ? html`<details><summary>${w.more(all.length - SHOWN)}</summary><ul class="learnt">${all.slice(SHOWN).map(wait)}</ul></details>` : nothing}
    ${table(w.waits, [w.step, w.vehicles, w.here, w.half, w.from, w.to], all.map((/** @type {any} */ x) => [tr(x.name), x.n, x.running, length(x.half), length(x.low), length(x.high)]))}
  </section>`;
}

/** @param {number} ms */
const length = (ms) => (ms ? hours(ms) : '–');

/** @param {any} x */
const wait = (x) => html`<li data-testid="wait:${x.stage}"><b>${tr(x.name)}</b>
  <span>${told(x.say)}</span>
  ${!x.half && !x.first ? nothing : html`<svg class="learnt-plot" viewBox="0 0 ${W} 66" aria-hidden="true">
    ${SCALE.map(([ms, word]) => svg`<path class="grid" d="M${along(ms)} 0V40"/><text x=${along(ms)} y="62" text-anchor="middle">${word}</text>`)}
    ${x.first && x.third ? svg`<rect class="most" x=${along(x.first)} width=${Math.max(4, Number(along(x.third)) - Number(along(x.first)))} y="8" height="24"/>` : nothing}
    ${x.low ? svg`<path class="range" d="M${along(x.low)} 20H${along(x.high || LONG)}M${along(x.low)} 8V32${x.high ? `M${along(x.high)} 8V32` : ''}"/>` : nothing}
    ${x.half ? svg`<circle class="point" cx=${along(x.half)} cy="20" r="9"/>` : nothing}
  </svg>`}
  <span class="small">${w.why}: ${causes(x.parts)}.</span></li>`;

/** What a time was for, of 100. @param {{name: string, ms: number}[]} parts */
function causes(parts) {
  const all = parts.reduce((sum, p) => sum + p.ms, 0);
  return parts.map((p) => /** @type {[number, string]} */ ([Math.round(p.ms / all * 100), tr(p.name)])).filter(([n]) => n > 0).map(([n, name]) => `${n} % ${name}`).join(', ');
}

// What the air cost, a bar for each bay and month: hatched is what did not count.

/** @param {string} month @param {any} shop */
const called = (month, shop) => new Date(month + '-15T12:00:00Z').toLocaleDateString(locale(), { month: 'short', year: 'numeric', timeZone: shop.zone || undefined });

/** @param {any} a @param {any} shop */
function air(a, shop) {
  if (!a.air.length) return nothing;
  const most = Math.max(...a.air.map((/** @type {any} */ x) => x.asked));
  const row = (/** @type {any} */ x) => html`<li data-testid="air:${x.place}:${x.month}"><span class="row wrap"><b class="tape">${x.place}</b><span>${called(x.month, shop)}</span></span>
    <svg class="learnt-plot low" viewBox="0 0 ${W} 28" preserveAspectRatio="none" aria-hidden="true">${svg`<defs><pattern id="lost" width="12" height="12" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0v12" stroke="currentColor" stroke-width="6"/></pattern></defs>`}
      <rect class="counted" x="0" width=${((x.asked - x.lost) / most * W).toFixed(1)} y="4" height="20"/>
      <rect class="lost" x=${((x.asked - x.lost) / most * W).toFixed(1)} width=${(x.lost / most * W).toFixed(1)} y="4" height="20"/></svg>
    <span>${told(x.say)}</span>${x.parts.length ? html`<span class="small">${causes(x.parts)}.</span>` : nothing}</li>`;
  return html`<section class="lap stack" aria-labelledby="air-title"><h2 id="air-title">${w.air}</h2>
    <p class="small quiet">${w.airHow}</p>
    <ul class="learnt">${a.air.slice(0, SHOWN).map(row)}</ul>
    ${a.air.length > SHOWN ? html`<details><summary>${w.more(a.air.length - SHOWN)}</summary><ul class="learnt">${a.air.slice(SHOWN).map(row)}</ul></details>` : nothing}
    ${table(w.air, [w.place, w.month, w.asked, w.lost], a.air.map((/** @type {any} */ x) => [x.place, called(x.month, shop), length(x.asked), length(x.lost)]))}
  </section>`;
}

// What did not hold: a line from end to end of the range on a scale of 100, and
// a dot for what was counted.

/** @param {any} x */
const range = (x) => html`<svg class="learnt-plot" viewBox="0 0 ${W} 66" aria-hidden="true">
  ${[0, 25, 50, 75, 100].map((n) => svg`<path class="grid" d="M${of(n / 100)} 0V40"/><text x=${of(n / 100)} y="62" text-anchor=${n === 0 ? 'start' : n === 100 ? 'end' : 'middle'}>${n}</text>`)}
  <path class="range" d="M${of(x.low)} 20H${of(x.high)}M${of(x.low)} 8V32M${of(x.high)} 8V32"/>
  ${x.n ? svg`<circle class="point" cx=${of(x.k / x.n)} cy="20" r="9"/>` : nothing}</svg>`;
/** @param {number} share */
const of = (share) => (LEFT + share * (W - 2 * LEFT)).toFixed(1);

/** @param {any} a */
function looks(a) {
  return html`<section class="lap stack" aria-labelledby="looks-title"><h2 id="looks-title">${w.looks}</h2>
    <p class="small quiet">${w.looksHow}</p>
    <ul class="learnt">${a.looks.map((/** @type {any} */ l) => html`<li data-testid="look:${l.key}"><b>${tr(l.name)}</b><span>${told(l.say)}</span>
      ${l.n ? html`<span class="small quiet">${told(l.what)}</span>` : nothing}${l.n ? html`${range(l)}${factors(l)}` : nothing}</li>`)}</ul>
    ${table(w.looks, [w.what, w.failed, w.lookedAt, w.from, w.to], a.looks.flatMap((/** @type {any} */ l) => [[tr(l.name), l.k, l.n, hundred(l.low), hundred(l.high)],
    ...l.by.flatMap((/** @type {any} */ b) => b.levels.map((/** @type {any} */ v) => [`${tr(l.name)}: ${tr(v.name)}`, v.k, v.n, hundred(v.low), hundred(v.high)]))]))}
  </section>`;
}

/** @param {number} share */
const hundred = (share) => String(Math.round(share * 100));

/** What is told apart stands first; all the rest a touch further.
 * @param {any} l */
function factors(l) {
  const levels = l.by.flatMap((/** @type {any} */ b) => b.levels.map((/** @type {any} */ v) => ({ ...v, of: b.name })));
  const sure = levels.filter((/** @type {any} */ v) => v.told);
  const row = (/** @type {any} */ v) => html`<li><span><span class="tape small">${tr(v.of)}</span> <b>${tr(v.name)}</b></span><span>${told(v.say)}</span>${range(v)}${v.tells ? html`<span class="small">${told(v.tells)}</span>` : nothing}</li>`;
  return html`${sure.length ? html`<ul class="learnt">${sure.map(row)}</ul>` : html`<p class="small" data-testid="few:${l.key}">${w.few}</p>`}
    <details><summary>${w.apart}</summary><ul class="learnt">${levels.map(row)}</ul></details>`;
}

/** Records to ask about. @param {any} a */
const quick = (a) => html`<section class="lap stack" aria-labelledby="quick-title"><h2 id="quick-title">${w.quick}</h2>
  ${a.quick.length ? html`<ul class="learnt">${a.quick.map((/** @type {any} */ x) => html`<li data-testid="quick:${x.label}"><a class="press" href="#/job/${x.job}">${x.label}</a><span>${told(x.say)}</span></li>`)}</ul>` : html`<p>${w.noQuick}</p>`}
</section>`;

/** The same numbers as a table, for who reads no plots.
 * @param {string} title @param {string[]} head @param {any[][]} rows */
const table = (title, head, rows) => html`<details class="as-table"><summary>${w.asTable}</summary><div class="wide-table" tabindex="0" role="region" aria-label=${t`Table: ${title}`}><table>
  <thead><tr>${head.map((h) => html`<th scope="col">${h}</th>`)}</tr></thead>
  <tbody>${rows.map((r) => html`<tr>${r.map((c, i) => (i ? html`<td>${c}</td>` : html`<th scope="row">${c}</th>`))}</tr>`)}</tbody></table></div></details>`;
