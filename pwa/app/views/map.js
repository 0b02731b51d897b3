// @ts-check
// The vehicle as its film lies, unrolled in hang order: front up, rear down,
// so panels hang from the bottom up and each laps over the one below. A wiped
// panel burns down like a fuse along its edge, and says its minutes; a laid
// one lies pressed. Partial answers, upper yes and sills no, are seen as such.

import { html, svg, nothing, tr } from '../tongue.js';
import { hours } from '../marks.js';
import { now, openSheet } from './app.js';
import { bodyOf, box, matrix, regionsOf, sizeOf } from './bodies.js';
import { short } from './answer.js';
import { pinsOf, placeAt } from './pins.js';
import { shape } from './shapes.js';
import { mapWord, stateWord, wipeWord } from './words.js';

/** How long a wipe lasts when nobody says: only for how full a fuse is drawn. */
const WIPE = 30 * 60_000;

/** @typedef {import('./bodies.js').Body} Body */
/** @typedef {import('./bodies.js').Region} Region */

/** The panels of the job at hand. @param {any} view the job */
export function map(view) {
  if (!view.panels?.length) return nothing;
  const zones = [...new Set(view.panels.map((/** @type {any} */ p) => p.zone || ''))];
  const says = zones.map((z) => [z, zoneSays(view, String(z))]).filter(([z, s]) => z && s !== nothing);
  return html`<section class="vehicle-map" aria-labelledby="map-title">
    <h2 id="map-title" class="row">${shape('roll')} ${mapWord.title}</h2>
    ${says.length ? html`<dl class="zones">${says.map(([z, s]) => html`<div><dt>${tr(z)}</dt><dd>${s}</dd></div>`)}</dl>` : nothing}
    ${drawing(view, (p, place, region, main) => panelButton(view, p, place, main))}
  </section>`;
}

/** The walk round: pins where something was found, and where to put the next.
 * @param {any} view @param {(panel: string, place: string) => void} touched @param {string} [name] of this drawing among others */
export const walkMap = (view, touched, name = 'w') => (view.panels?.length ? html`<div class="vehicle-map walk">${drawing(view, (p, place, region, main, body) => html`<button type="button"
  class="hit" ?disabled=${view.closed} data-testid=${main ? `pin-${name}:${p.id}` : nothing} tabindex=${main ? nothing : '-1'} aria-label="${mapWord.found} ${p.name}"
  @click=${(/** @type {MouseEvent} */ e) => touched(p.id, placeAt(e, region, body))}></button>`, name)}</div>` : nothing);

/** The panels that get film, touched on and off. @param {any} view @param {(id: string) => boolean} on @param {(id: string) => void} touched */
export const pickMap = (view, on, touched) => html`<div class="vehicle-map">${drawing({ ...view, panels: view.panels.map((/** @type {any} */ p) => ({ ...p, picked: on(p.id) })) },
  (p, place, region, main) => html`<button type="button" class="hit" aria-pressed=${on(p.id)} data-testid=${main ? 'film:' + p.id : nothing} tabindex=${main ? nothing : '-1'} aria-label="${place} ${p.name}"
    @click=${() => touched(p.id)}>${on(p.id) ? html`<span class="hang" aria-hidden="true">${place}</span>` : nothing}</button>`, 'p')}</div>`;

/** A vehicle as one sees its left side. @param {string} vehicle @param {string[]} ids */
export function silhouette(vehicle, ids) {
  const b = bodyOf(vehicle, ids);
  return b.side ? html`<svg class="seen" viewBox="0 0 ${b.long} ${b.high + 4}" aria-hidden="true"><path class="paint" d=${b.side}/><path class="glass" d=${b.glass}/>${b.wheels.map(([x, r]) => svg`<circle class="wheel" cx=${x} cy=${b.high - 6} r=${r - 3}/>`)}</svg>`
    : html`<svg class="seen" viewBox="0 -20 300 300" aria-hidden="true"><path class="paint" d=${b.middle}/><path class="glass" d=${b.middleGlass}/></svg>`;
}

/** One short answer for a zone when all its panels share it. @param {any} view @param {string} zone */
function zoneSays(view, zone) {
  const gates = view.panels.filter((/** @type {any} */ p) => p.zone === zone && p.gate).map((/** @type {any} */ p) => p.gate);
  const words = new Set(gates.map((/** @type {any} */ g) => g.state + short(g, view)));
  if (!gates.length || words.size !== 1) return nothing;
  return html`<span class="state is-${gates[0].state}">${shape(gates[0].state)}<span>${short(gates[0], view)}</span></span>`;
}

/** What of a panel is drawn. @param {any} view @param {any} p */
function standing(view, p) {
  const wipe = p.wipe ?? { state: 'none', until: 0 };
  const left = p.gate && wipe.state === 'good' ? Math.max(0, wipe.until - now(view)) : 0;
  const bare = (view.findings ?? []).some((/** @type {any} */ f) => f.panel === p.id && f.answer === 'declined');
  if (bare) return { left: 0, mark: 'bare', words: mapWord.bare };
  const mark = !p.gate ? 'done' : ['spoiled', 'stale'].includes(wipe.state) ? wipe.state : left ? 'wiped' : p.gate.state;
  const words = p.gate ? [wipe.state === 'none' ? '' : wipeWord[wipe.state] + (left ? ' ' + hours(left) : ''), p.gate.word || stateWord[p.gate.state]] : [mapWord.laid];
  return { left, mark, words: words.filter(Boolean).join(', ') };
}

/** @param {any} view @param {any} p @param {number} place @param {boolean} main not the second half of a panel on both sides */
function panelButton(view, p, place, main) {
  const { left, mark, words } = standing(view, p);
  return html`<button type="button" class="hit" data-testid=${main ? 'tile:' + p.id : nothing} tabindex=${main ? nothing : '-1'} 
    @click=${() => openSheet('panel', { panel: p.id })}><span class="hang">${place}</span><span class="unseen"> ${p.name}: ${words}</span>
    <span class="says is-${mark}" aria-hidden="true">${mark === 'wiped' ? html`<b>${Math.floor(left / 60_000)}</b><small>min</small>` : shape(mark)}</span></button>`;
}

/** The body with its panels, and a button over each; panels that the body does
 * not have hang in a row below it.
 * @param {any} view @param {(p: any, place: number, r: Region, main: boolean, b: Body) => unknown} button @param {string} [name] of a walk's drawing */
function drawing(view, button, name = '') {
  const walk = !!name;
  const panels = view.panels, ids = panels.map((/** @type {any} */ p) => p.id);
  const body = bodyOf(view.vehicle || '', ids), [w, h] = sizeOf(body);
  const placed = panels.flatMap((/** @type {any} */ p, /** @type {number} */ i) => regionsOf(body, p.id, ids).map((r, n) => ({ p, place: i + 1, r, main: n === 0, box: box(body, r) })));
  const rest = panels.filter((/** @type {any} */ p) => !placed.some((/** @type {any} */ q) => q.p === p));
  const faces = body.sides ? ['L'] : body.side ? ['L', 'R', 'T'] : ['T'];
  return html`<div class="unrolled ${body.side ? '' : 'hood-only'} ${body.sides ? 'one-side' : ''}">
    ${body.side ? html`<span class="edge" aria-hidden="true">${mapWord.front}</span>` : nothing}
    <div class="flat"><svg viewBox="0 0 ${w} ${h}" aria-hidden="true">
      <defs>${faces.map((f) => svg`<clipPath id="on${name}-${f}"><path d=${f === 'T' ? body.middle : body.side} transform=${matrix(body, f)}/></clipPath>`)}
        <pattern id="sheen${name}" width="26" height="26" patternUnits="userSpaceOnUse" patternTransform="rotate(-32)"><path d="M0 0h9v26H0z" class="sheen"/></pattern></defs>
      ${faces.map((f) => svg`<path class="paint" d=${f === 'T' ? body.middle : body.side} transform=${matrix(body, f)}/>`)}
      ${placed.map((/** @type {any} */ q) => svg`<g clip-path="url(#on${name}-${q.r.face})">${panelPaint(view, q, walk, name)}</g>`)}
      ${faces.map((f) => details(body, f))}
      ${placed.map((/** @type {any} */ q) => (walk ? nothing : svg`<g clip-path="url(#on${name}-${q.r.face})">${fuse(view, q)}</g>`))}
      ${walk ? pinsOf(view, body, placed) : dots(view, body)}
    </svg>
    ${placed.map((/** @type {any} */ q) => html`<div class="spot-on" .style=${`left:${(q.box.x / w) * 100}%;top:${(q.box.y / h) * 100}%;width:${(q.box.w / w) * 100}%;height:${(q.box.h / h) * 100}%`}>${button(q.p, q.place, q.r, q.main, body)}</div>`)}</div>
  </div>
  ${rest.length ? html`<ol class="others">${rest.map((/** @type {any} */ p) => html`<li class="at-${standing(view, p).mark}"><span class="called">${p.name}</span>${button(p, ids.indexOf(p.id) + 1, { face: 'L', x: 0, y: 0, w: 1, h: 1 }, true, body)}</li>`)}</ol>` : nothing}`;
}

/** @param {any} view @param {any} q @param {boolean} walk @param {string} name */
function panelPaint(view, { p, box: b }, walk, name) {
  if ('picked' in p) return svg`<rect class="film ${p.picked ? 'at-done' : 'bare'}" x=${b.x} y=${b.y} width=${b.w} height=${b.h}/>`;
  if (walk) return svg`<rect class="film bare" x=${b.x} y=${b.y} width=${b.w} height=${b.h}/>`;
  const { mark, left } = standing(view, p);
  return svg`<rect class="film at-${mark}" x=${b.x} y=${b.y} width=${b.w} height=${b.h}/>
    ${mark === 'wiped' ? glow(b, share(left)) : nothing}
    ${mark === 'done' ? svg`<rect x=${b.x} y=${b.y} width=${b.w} height=${b.h} fill="url(#sheen${name})"/><path class="lapped" d="M${b.x} ${b.y + 1.5}h${b.w}"/>` : nothing}`;
}

/** How much of a wipe is left, 0 to 1. @param {number} left in ms */
const share = (left) => Math.min(1, left / WIPE);

/** What is left of a wipe glows from the rear of its panel, its edge slanted as
 * a squeegee's. @param {{x: number, y: number, w: number, h: number}} b @param {number} part */
const glow = (b, part) => svg`<path class="glow" d=${`M${b.x} ${b.y + b.h}V${(b.y + b.h * (1 - part) + 4).toFixed(1)}l${b.w}-8V${b.y + b.h}z`}/>`;

/** The edge of a wiped panel, as long as its wipe still is. An open path: a closed
 * one that is a rectangle is begun at another corner by Firefox. @param {any} view @param {any} q */
function fuse(view, { p, box: b }) {
  const { left, mark } = standing(view, p);
  if (mark !== 'wiped') return nothing;
  const part = (share(left) * 100).toFixed(1);
  return svg`<path class="fuse ${left < 5 * 60_000 ? 'short' : ''}" pathLength="100" stroke-dasharray="${part} 100" d="M${b.x + 6} ${b.y + b.h - 6}H${b.x + b.w - 6}V${b.y + 6}H${b.x + 6}V${b.y + b.h - 10}"/>`;
}

/** Glass, wheels, channels and domes of a face. @param {Body} b @param {string} f */
const details = (b, f) => svg`<g transform=${matrix(b, f)}>${f === 'T'
  ? svg`<path class="glass" d=${b.middleGlass}/>${b.side ? nothing : parts(b)}`
  : svg`<path class="glass" d=${b.glass}/>${b.wheels.map(([x, r]) => svg`<path class="wheel" d=${`M${x - r} ${b.high}a${r} ${r} 0 0 1 ${2 * r} 0z`}/>`)}${parts(b)}`}</g>`;

/** @param {Body} b */
const parts = (b) => svg`<path class="channel" d=${b.channels}/>${b.domes.map(([x, y, r]) => svg`<circle class="dome" cx=${x} cy=${y} r=${r}/><circle class="dome" cx=${x} cy=${y} r=${r / 2}/>`)}`;

/** The tape dot that wants a reading, where it sticks. @param {any} view @param {Body} b */
function dots(view, b) {
  const ask = (view.spots ?? []).find((/** @type {any} */ s) => s.id === view.gate?.ask);
  if (!ask || !b.side) return nothing;
  const { x, y } = spotAt((ask.english?.name ?? ask.name).toLowerCase(), b);
  return svg`<g class="ask-dot"><circle cx=${x} cy=${y} r="17"/><text x=${x} y=${y + 6.5} text-anchor="middle">${ask.id}</text></g>`;
}

/** About where a spot of that name sticks. @param {string} name @param {Body} b */
function spotAt(name, b) {
  const along = /rear/.test(name) ? 0.86 : /hinge|front/.test(name) ? 0.3 : 0.55;
  if (b.strip && /hood|brace|roof\b|tailgate|rear door/.test(name)) return { x: b.high + b.strip / 2, y: b.long * (/hood|brace/.test(name) ? 0.12 : /roof/.test(name) ? 0.5 : 0.88) };
  const y = b.high * (/sill|lower|rail|arch|skirt/.test(name) ? 0.82 : /shoulder|cant/.test(name) ? 0.3 : 0.45);
  const at = box(b, { face: /right/.test(name) && !b.sides ? 'R' : 'L', x: b.long * along, y, w: 0, h: 0 });
  return { x: at.x, y: at.y };
}
