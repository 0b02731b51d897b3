// @ts-check
// What the lead asks the shop server: plan, night, alarms, closing walk. The
// last answer is kept on this phone and says how old it is; the gates need none
// of it.
//
// The screens that show it stand below: plan, closing walk, a bay's air.

import { html, nothing, svg, sentence, tr } from '../tongue.js';
import { clock, hours, marks, temperature } from '../marks.js';
import { app, home, now, paint, viewOf } from './app.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';
import { airWord, leadWord } from './words.js';

const KEPT = 'lead';
const OFTEN = 20_000; // ms between two questions

/** @type {any} */
let answer;
let asked = -OFTEN, asking = false, failed = false;

/** The last answer; a new one is fetched beside it when that one is old. */
export function lead() {
  if (answer === undefined) {
    try { answer = JSON.parse(localStorage.getItem(KEPT) ?? 'null'); } catch { answer = null; }
  }
  if (!asking && performance.now() - asked >= OFTEN && document.visibilityState === 'visible') ask();
  return answer;
}

async function ask() {
  asking = true;
  try {
    const response = await fetch('/lead');
    if (!response.ok) throw new Error(String(response.status));
    const text = await response.text();
    answer = JSON.parse(text);
    failed = false;
    try { localStorage.setItem(KEPT, text); } catch { /* it is fetched again */ }
    // The pictures of the bays too: the next look may be in one without signal.
    for (const p of viewOf('board')?.places ?? []) if (p.sort === 'bay') airOf(p.id, BESIDE);
  } catch {
    failed = true;
  }
  asked = performance.now();
  asking = false;
  paint();
}

const OLD = 150_000; // ms after which an answer says how old it is

/** Says that an answer is an old one. @param {any} a @param {any} view */
export function age(a, view) {
  if (!a || (!failed && now(view) - a.at < OLD)) return nothing;
  const time = clock(a.at, view?.shop ?? {}, now(view));
  return html`<p class="caution" data-testid="as-of">${shape('phone')}<span>${failed ? leadWord.asOf(time) : leadWord.was(time)}</span></p>`;
}

/** Says that this phone knows more of a vehicle than the shop server did when it
 * answered. @param {string} job */
function newer(job) {
  const view = viewOf('board');
  const last = (view?.places ?? []).flatMap((/** @type {any} */ p) => p.jobs ?? []).find((/** @type {any} */ j) => j.id === job)?.last_at ?? 0;
  return last > answer.at ? html` <span class="small">${shape('phone')} ${leadWord.since(clock(last, view.shop, now(view)))}</span>` : nothing;
}

/** What stands in the place of an answer. */
export const none = () => html`<p class="lap fact">${failed ? leadWord.noSignal : leadWord.asking}</p>`;

/** A sentence in the shop's zone and units. @param {string} text */
export const told = (text) => { const view = home(); return marks(sentence(text), view?.shop ?? {}, now(view)); };

/** What is worth a call now. It lies over the foot of the board, so that nothing
 * moves when it comes. */
export function alarms() {
  const all = answer?.alarms ?? [];
  const view = home();
  return all.length ? html`<div class="alarms" role="alert">${age(answer, view)}${all.map((/** @type {any} */ a) => html`<details class="alarm" data-testid="alarm:${a.kind}">
    <summary>${shape('first')}<span><b>${leadWord.alarm[a.kind]}</b> ${told(a.risk)}</span></summary><p>${told(a.say)} <b>${told(a.act)}</b></p></details>`)}</div>` : nothing;
}

/** The night in one line for each bay, and when gates may open: under the bays,
 * for the same reason. */
export function below() {
  if (!answer) return nothing;
  return html`
    ${age(answer, home())}
    ${answer.nights.length ? html`<section class="lap"><h2>${leadWord.night}</h2><ul class="nights">${answer.nights.map((/** @type {any} */ n) => html`<li data-testid="night"><b class="tape">${n.name}</b> ${told([n.say, ...n.costs].join(' '))}</li>`)}</ul></section>` : nothing}
    ${answer.told.length ? html`<section class="lap"><h2>${leadWord.opens}</h2><ul class="nights">${answer.told.map((/** @type {any} */ t) => html`<li data-testid="told"><b>${t.label} ${leadWord.stage(t.stage)}${t.zone ? `, ${tr(t.zone)}` : ''}:</b>
      ${told(t.say)}${t.next > Math.max(t.about, t.early) ? ` ${leadWord.next(told(`⟨t:${t.next}⟩`))}` : ''} <span class="quiet">${told(t.assumes)}</span>${newer(t.job)}</li>`)}</ul></section>` : nothing}`;
}

/** Where the lead's screens are. */
export const ways = () => html`<nav class="ways" aria-label="For the lead"><a class="press" href="#/plan">${leadWord.plan}</a><a class="press" href="#/walk">${leadWord.walk}</a><a class="press" href="#/find">${leadWord.find}</a><a class="press" href="#/learn">${leadWord.learn}</a></nav>`;

/** Instruments whose check is too long ago, by what this phone knows. */
export function unchecked() {
  const due = (home()?.instruments ?? []).filter((/** @type {any} */ i) => i.due).map((/** @type {any} */ i) => i.name);
  return due.length ? html`<p class="lap" data-testid="unchecked">${shape('first')} ${due.join(', ')}. <a class="press" href="#/instruments">${leadWord.check}</a></p>` : nothing;
}

/** What the server said of moves, by vehicle; whether anybody measured it.
 * @type {Map<string, {at: number, failed?: boolean, sized?: boolean, places?: Record<string, any>}>} */
const moves = new Map();

/** Asks beforehand whether a vehicle may go into each bay, so that the answer
 * is there when the sheet opens. @param {string} job */
export function askMoves(job) {
  const m = moves.get(job);
  if (m && performance.now() - m.at < 60_000) return;
  moves.set(job, { ...m, at: performance.now() });
  fetch('/may/move?' + new URLSearchParams({ job })).then(async (r) => {
    if (!r.ok) throw new Error(String(r.status));
    moves.set(job, { places: {}, ...(await r.json()), at: performance.now() });
  }).catch(() => moves.set(job, { ...moves.get(job), at: performance.now(), failed: true })).then(paint);
}

/** The drawing of each answer. @type {Record<string, string>} */
const mayShape = { yes: 'open', close: 'first', no: 'held' };

/** Whether the vehicle's measures are asked for: unless the shop server had said
 * that it has them. It stays as it was when the sheet opened. @param {any} sheet @param {string} job */
export const unsized = (sheet, job) => (sheet.unsized ??= moves.get(job)?.sized !== true);

/** It was measured: ask again. @param {string} job */
export const measured = (job) => moves.delete(job);

/** May this vehicle go into that bay now? The word has its place from the start,
 * and what was said when the sheet opened is read out under it; a later answer
 * fills in the word, and its sentences wait for a tap, so that nothing moves.
 * @param {any} sheet @param {string} job @param {any} place */
export function may(sheet, job, place) {
  const got = moves.get(job);
  sheet.asked ??= got?.places ?? {}; // as it opened
  sheet.may ??= got?.places;
  const m = sheet.may?.[place.id], word = m ? leadWord.may[m.may] ?? leadWord.may.other : sheet.may || got?.failed ? leadWord.may.none : leadWord.may.asking;
  const line = html`<span class="tape">${place.name}</span><span class="row">${shape(m ? mayShape[m.may] ?? 'unknown' : 'unknown')}<span>${word}</span></span>`;
  return m ? html`<details class="may" data-testid="may:${place.name}:${m.may}" ?open=${m.may !== 'yes' && sheet.asked[place.id] === m}><summary>${line}</summary>
    <p class="small"><b>${told(m.say)}</b> ${told(m.do)}${m.until ? ` ${leadWord.again} ${told(m.until)}` : ''}</p></details>`
    : html`<p class="may" data-testid="may:${place.name}">${line}</p>`;
}

// The plan back from hand-over: for each vehicle its days as a strip, and under
// it every piece of work with the word of what it waits for. Work is a full
// bar, hours that pass by themselves a hatched one.

export function planScreen() {
  const view = home(), a = lead(), p = a?.plan, at = now(view);
  return html`
    <header class="top"><a class="press plain" href="#/board" aria-label="Board">${shape('back')}</a><h1 tabindex="-1">${leadWord.plan}</h1>${view ? netMark(view) : nothing}</header>
    <main class="screen" data-testid="plan">${!a ? none() : html`
      ${age(a, view)}
      ${(p.out ?? []).map((/** @type {string} */ s) => html`<p class="caution">${shape('held')}<span><b>${leadWord.tooLarge}</b> ${told(s)}</span></p>`)}
      ${p.refused ? html`<p class="lap fact">${told(p.refused)}</p>` : nothing}
      ${p.propose.length ? html`<section class="lap"><h2>${leadWord.propose}</h2><ul class="propose">${p.propose.map((/** @type {any} */ x) => html`<li class="row">${shape(x.kind === 'heat' ? 'sun' : x.kind === 'wash' ? 'drop' : 'move')}<span><b>${told(x.say)}</b> <span class="quiet">${told(x.why)}</span></span></li>`)}</ul></section>` : nothing}
      ${a.slips.map((/** @type {any} */ s) => html`<p class="caution">${shape('first')}<span>${told(s.say)} ${told(s.cause)}.</span></p>`)}
      ${[...p.jobs].sort((x, y) => (x.due || Infinity) - (y.due || Infinity)).map((j) => vehicle(p, j, at))}
      <p class="small quiet">${leadWord.rests}</p>`}
      ${ways()}
    </main>`;
}

/** @param {any} p @param {any} j @param {number} at */
function vehicle(p, j, at) {
  const shop = home()?.shop ?? {};
  const bars = p.bars.filter((/** @type {any} */ b) => b.job === j.job);
  const late = j.due && j.end > j.due;
  return html`<section class="lap planned" data-testid="planned:${j.label}">
    <h2 class="row wrap"><a class="label" href="#/job/${j.job}">${j.label}</a>
      ${late ? html`<span class="state is-held">${shape('held')}<span>${leadWord.late(hours(j.end - j.due))}</span></span>` : j.due ? html`<span class="state is-done">${shape('done')}<span>${leadWord.holds}</span></span>` : nothing}</h2>
    <p>${leadWord.ends(clock(j.end, shop, at))}${j.due ? `, ${leadWord.promised(clock(j.due, shop, at))}` : ''}.${j.cause ? html` <b>${leadWord.stage(j.stage)}: ${told(j.cause)}.</b>` : nothing}</p>
    ${strip(bars, p.open, j, at)}
    <ol class="bars">${bars.map((/** @type {any} */ b) => html`<li class=${b.wait ? 'hours' : 'work'}>
      <span class="when">${clock(b.from, shop, at)}<br>${clock(b.to, shop, at)}</span>
      <span><b>${leadWord.stage(b.key)}</b>${b.bay ? ` · ${b.bay}` : ''}${b.who?.length ? ` · ${b.who.join(', ')}` : ''}${b.word ? html`<span class="word">${shape('waits', 0.5)}${told(b.word)}</span>` : nothing}</span></li>`)}</ol>
  </section>`;
}

/** A vehicle's days from now on: opening hours light, nights dark, the promise a
 * flag. The list under it says the same in words.
 * @param {any[]} bars @param {any[]} open @param {any} j @param {number} at */
function strip(bars, open, j, at) {
  const end = Math.max(j.end, j.due || 0) + 3_600_000, wide = 1000;
  const x = (/** @type {number} */ ms) => Math.max(0, Math.min(wide, ((ms - at) / (end - at)) * wide)).toFixed(1);
  const box = (/** @type {number} */ from, /** @type {number} */ to, /** @type {number} */ y, /** @type {number} */ h, /** @type {string} */ what) =>
    svg`<rect class=${what} x=${x(from)} width=${Math.max(3, Number(x(to)) - Number(x(from)))} y=${y} height=${h}/>`;
  return html`<svg class="strip" viewBox="0 0 ${wide} 60" preserveAspectRatio="none" aria-hidden="true">
    ${svg`<defs><pattern id="hatch" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0v14" stroke="currentColor" stroke-width="7"/></pattern></defs>`}
    <rect class="shut" width=${wide} height="60"/>
    ${open.map((o) => box(o.from, o.to, 0, 60, 'day'))}
    ${bars.filter((b) => b.wait).map((b) => box(b.from, b.to, 34, 18, 'hours'))}
    ${bars.filter((b) => !b.wait).map((b) => box(b.from, b.to, 8, 18, 'work'))}
    ${j.due ? svg`<rect class="due" x=${Math.min(wide - 6, Number(x(j.due)))} width="6" height="60"/>` : nothing}
  </svg>`;
}

// The walk at close-up, in the order of the bays, made from what the shop has
// on tonight. Ticks stay on this phone until the next evening: they help the one
// who walks, and prove nothing.

const WALKED = 'walk', NIGHT = 12 * 3_600_000;

/** @type {{at: number, done: string[]}} */
let walk = { at: 0, done: [] };
try { walk = JSON.parse(localStorage.getItem(WALKED) ?? '') ?? walk; } catch { /* none yet */ }

/** @param {string} key */
function tick(key) {
  if (Date.now() - walk.at > NIGHT) walk = { at: Date.now(), done: [] };
  walk.done = walk.done.includes(key) ? walk.done.filter((k) => k !== key) : [...walk.done, key];
  try { localStorage.setItem(WALKED, JSON.stringify(walk)); } catch { /* it holds until the page goes */ }
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
    <header class="top"><a class="press plain" href="#/board" aria-label="Board">${shape('back')}</a><h1 tabindex="-1">${leadWord.walk}</h1>${view ? netMark(view) : nothing}</header>
    <main class="screen" data-testid="walk">${!a ? none() : html`
      ${age(a, view)}
      <p class="fact" role="status">${left ? leadWord.left(left) : leadWord.allSeen}</p>
      ${[...places].map(([name, items]) => html`<section class="lap walk"><h2 class="tape">${view?.places?.some((/** @type {any} */ p) => p.name === name) ? name : tr(name)}</h2><ul>${items.map((i) => {
        const key = i.name + i.say, is = done.includes(key);
        return html`<li><button type="button" class="press see" role="checkbox" aria-checked=${is ? 'true' : 'false'} data-testid="see:${name}" @click=${() => tick(key)}>
          ${is ? shape('done') : shape('bare')}<span>${i.first && !is ? html`<span class="flag">${shape('first')}${leadWord.tonight}</span> ` : nothing}<b>${told(i.say)}</b>${i.why ? html`<br><span class="small">${told(i.why)}</span>` : nothing}</span></button></li>`;
      })}</ul></section>`)}`}
      <p><a class="press" href="/cards.pdf?language=${document.documentElement.lang}" target="_blank" rel="noopener">Print tomorrow's cards</a></p>
      ${ways()}
    </main>`;
}

// The climate of a bay as a picture: a day as it was read and the next hours as
// a range. Air is a full line, dew point a dashed one, the coldest spot has
// dots, outside is dotted; the window for laying is a band; hours that counted
// are bars underneath. Each line has a stroke of its own, so that none is told
// by colour alone.

const W = 640, H = 520, TOP = 16, FLOOR = 420, AGAIN = 60_000, BESIDE = 900_000;

/** The last answers, by place. @type {Map<string, {a: any, asked: number}>} */
const airs = new Map();

/** @param {string} place @param {number} often */
function airOf(place, often = AGAIN) {
  let it = airs.get(place);
  if (!it) {
    it = { a: null, asked: -BESIDE };
    try { it.a = JSON.parse(localStorage.getItem('air:' + place) ?? 'null'); } catch { /* none kept */ }
    airs.set(place, it);
  }
  if (performance.now() - it.asked >= often && document.visibilityState === 'visible') {
    it.asked = performance.now();
    fetch('/air/' + place).then(async (r) => {
      if (!r.ok) return;
      const text = await r.text();
      it.a = JSON.parse(text);
      try { localStorage.setItem('air:' + place, text); } catch { /* fetched again */ }
      paint();
    }).catch(() => {});
  }
  return it.a;
}

export function airScreen() {
  const view = home(), a = airOf(app.route.id), shop = view?.shop ?? {};
  const name = a?.name ?? view?.places?.find((/** @type {any} */ p) => p.id === app.route.id)?.name ?? '';
  return html`<header class="top"><a class="press plain" href="#/board" aria-label="Board">${shape('back')}</a><h1 tabindex="-1">${airWord.title(name)}</h1>${view ? netMark(view) : nothing}</header>
    <main class="screen" data-testid="air">${a ? html`<section class="lap">${plot(a, shop, now(view))}${a.at < now(view) - OLD ? html`<p class="caution" data-testid="as-of">${shape('phone')}<span>${airWord.asOf(clock(a.at, shop, now(view)))}</span></p>` : nothing}${here(a, shop, now(view))}</section>` : html`<p class="lap fact">${airWord.none}</p>`}</main>`;
}

/** What this phone itself has heard of the bay since. @param {any} a @param {any} shop @param {number} at */
function here(a, shop, at) {
  const c = viewOf('board')?.places?.find((/** @type {any} */ p) => p.id === app.route.id)?.climate;
  return c && c.at > a.at ? html`<p class="small">${airWord.here(temperature(c.air, shop), temperature(c.dew, shop), clock(c.at, shop, at))}</p>` : nothing;
}

/** @param {any} a @param {any} shop @param {number} at */
export function plot(a, shop, at) {
  const all = [...a.air.flatMap((/** @type {number[]} */ p) => [p[1], p[2]]), ...a.outside.map((/** @type {number[]} */ p) => p[1]),
    ...a.ahead.flatMap((/** @type {number[]} */ p) => [p[1], p[3], p[4], p[6]]), ...a.spots.flatMap((/** @type {any} */ s) => s.line.map((/** @type {number[]} */ p) => p[1])), a.low];
  const least = Math.floor(Math.min(...all) / 5000) * 5000, most = Math.ceil(Math.max(...all) / 5000) * 5000;
  const from = a.at - 24 * 3_600_000, to = a.at + 12 * 3_600_000;
  const x = (/** @type {number} */ ms) => Math.round(60 + ((ms - from) / (to - from)) * (W - 70));
  const y = (/** @type {number} */ c) => Math.round(FLOOR - ((c - least) / (most - least)) * (FLOOR - TOP));
  const line = (/** @type {number[][]} */ points, /** @type {number} */ k) => points.map((p, i) => `${i && p[0] - points[i - 1][0] <= 3_600_000 ? 'L' : 'M'}${x(p[0])} ${y(p[k])}`).join('');
  const band = (/** @type {number} */ lo, /** @type {number} */ hi) => a.ahead.length ? 'M' + a.ahead.map((/** @type {number[]} */ p) => `${x(p[0])} ${y(p[hi])}`).join('L') + 'L' + [...a.ahead].reverse().map((p) => `${x(p[0])} ${y(p[lo])}`).join('L') + 'z' : '';
  const rows = [], last = a.air.at(-1), times = [];
  for (let c = least; c <= most; c += 5000) rows.push(c);
  for (let t = Math.ceil(from / 21_600_000) * 21_600_000; t < to; t += 21_600_000) times.push(t);
  return html`<svg class="air-plot whole" viewBox="0 0 ${W} ${H}" role="img" aria-label=${airWord.say(a, last ? temperature(last[1], shop) : '', last ? temperature(last[2], shop) : '')}>
    <rect class="window" x="60" width=${W - 70} y=${y(Math.min(a.high, most))} height=${Math.max(0, y(a.low) - y(Math.min(a.high, most)))}/>
    ${rows.map((c) => svg`<path class="grid" d="M60 ${y(c)}H${W - 10}"/><text x="50" y=${y(c) + 9} text-anchor="end">${shop.units === 'F' ? Math.round(c * 9 / 5000 + 32) : c / 1000}</text>`)}
    ${times.map((t) => svg`<path class="grid" d="M${x(t)} ${TOP}V${FLOOR}"/><text x=${x(t)} y=${FLOOR + 30} text-anchor="middle">${x(t) < W - 35 ? clock(t, shop, at).slice(-5) : ''}</text>`)}
    <path class="range" d=${band(1, 3)}/><path class="range damp" d=${band(4, 6)}/>
    <path class="outside" d=${line(a.outside, 1)}/>
    <path class="dew" d=${line(a.air, 2)}/><path class="dew ahead" d=${line(a.ahead, 5)}/>
    <path class="air" d=${line(a.air, 1)}/><path class="air ahead" d=${line(a.ahead, 2)}/>
    ${a.spots.map((/** @type {any} */ s, /** @type {number} */ i) => svg`<path class="spot" d=${line(s.line, 1)}/>
      ${s.line.filter((/** @type {any} */ _, /** @type {number} */ k) => k % 6 === 0).map((/** @type {number[]} */ p) => svg`<circle class="spot" cx=${x(p[0])} cy=${y(p[1])} r="4"/>`)}
      ${s.counted.map((/** @type {number[]} */ c) => svg`<rect class="counted" x=${x(c[0])} width=${Math.max(2, x(c[1]) - x(c[0]))} y=${FLOOR + 42 + i * 24} height="16"/>`)}`)}
    <path class="now" d="M${x(a.at)} ${TOP}V${FLOOR + 60}"/>
  </svg>
  <ul class="plot-names">
    ${[['air', airWord.air], ['dew', airWord.dew], ['spot', airWord.spot(a.spots.map((/** @type {any} */ s) => s.label).join(', '))], ['outside', airWord.outside]].map(([cls, word]) =>
      html`<li class="row"><svg class="air-plot" viewBox="0 0 60 20" aria-hidden="true"><path class=${cls} d="M0 10H60"/>${cls === 'spot' ? svg`<circle class="spot" cx="30" cy="10" r="5"/>` : nothing}</svg>${word}</li>`)}
    <li class="row"><svg class="air-plot" viewBox="0 0 60 20" aria-hidden="true"><rect class="window" width="60" height="20"/></svg>${airWord.window}</li>
    <li class="row"><svg class="air-plot" viewBox="0 0 60 20" aria-hidden="true"><rect class="counted" width="60" height="16" y="2"/></svg>${airWord.counted}</li>
    <li class="row"><svg class="air-plot" viewBox="0 0 60 20" aria-hidden="true"><path class="range" d="M0 0H60V20H0z"/></svg>${airWord.range}</li></ul>`;
}
