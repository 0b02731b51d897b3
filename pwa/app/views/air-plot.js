// @ts-check
// The climate of a bay as a picture: a day as it was read and the next hours as
// a range. Air is a full line, dew point a dashed one, the coldest spot has
// dots, outside is dotted; the window for laying is a band; hours that counted
// are bars underneath. Each line has a stroke of its own, so that none is told
// by colour alone.

import { html, nothing, svg } from '../vendor/lit-html.js';
import { clock, temperature } from '../marks.js';
import { home, now, app, paint } from './app.js';
import { netMark } from './net.js';
import { shape } from './shapes.js';
import { airWord } from './words.js';

const W = 640, H = 520, TOP = 16, FLOOR = 420, OFTEN = 60_000;

/** The last answers, by place. @type {Map<string, {a: any, asked: number}>} */
const answers = new Map();

/** @param {string} place */
function answer(place) {
  let it = answers.get(place);
  if (!it) {
    it = { a: null, asked: -OFTEN };
    try { it.a = JSON.parse(localStorage.getItem('air:' + place) ?? 'null'); } catch { /* none kept */ }
    answers.set(place, it);
  }
  if (performance.now() - it.asked >= OFTEN && document.visibilityState === 'visible') {
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
  const view = home(), a = answer(app.route.id), shop = view?.shop ?? {};
  const name = a?.name ?? view?.places?.find((/** @type {any} */ p) => p.id === app.route.id)?.name ?? '';
  return html`<header class="top"><a class="press plain" href="#/board" aria-label="Board">${shape('back')}</a><h1 tabindex="-1">${airWord.title(name)}</h1><span class="push"></span>${view ? netMark(view) : nothing}</header>
    <main class="screen" data-testid="air">${a ? html`<section class="lap">${plot(a, shop, now(view))}${a.at < now(view) - 20 * OFTEN ? html`<p class="small">${airWord.asOf(clock(a.at, shop, now(view)))}</p>` : nothing}</section>` : html`<p class="lap fact">${airWord.none}</p>`}</main>`;
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
