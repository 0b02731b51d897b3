// @ts-check
// The shapes. Each state has a form of its own, taken from the trade, so that
// it is told apart without colour: a strip pointing on (start now), a dot that
// fills (from 12:20), two crossed tapes (stopped by), an empty dashed dot (no
// reading), a laid panel with its corner down (done).

import { html, svg, nothing } from '../tongue.js';

/** A drawing without a name of its own: the word beside it says it.
 * @param {unknown} inner */
const draw = (inner, box = '0 0 24 24') =>
  html`<svg viewBox=${box} aria-hidden="true" focusable="false" fill="none" stroke="currentColor" stroke-width="2.6" stroke-linejoin="round" stroke-linecap="round">${inner}</svg>`;

/** @type {Record<string, () => unknown>} */
const drawings = {
  open: () => html`<svg viewBox="0 0 24 24" aria-hidden="true" fill="currentColor"><path d="M2 4h12l8 8-8 8H2l6-8z"/></svg>`,
  held: () => html`<svg viewBox="0 0 24 24" aria-hidden="true" fill="currentColor"><path d="M1.5 6 6 1.5l6 6 6-6L22.5 6l-6 6 6 6-4.5 4.5-6-6-6 6L1.5 18l6-6z"/></svg>`,
  unknown: () => html`<svg viewBox="0 0 24 24" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2.8"><circle cx="12" cy="12" r="9.5" stroke-dasharray="4.6 3"/><path d="M9.2 9.7c.2-4 6-3.6 5.7-.3-.2 2-2.8 2-2.8 4.4M12 17.2v.6" stroke-width="2.2"/></svg>`,
  done: () => html`<svg viewBox="0 0 24 24" aria-hidden="true" fill="currentColor"><path d="M2 2h20v11l-9 9H2z"/><path d="M22 13h-9v9" fill="none" stroke="var(--sheet)" stroke-width="2.2"/></svg>`,
  stale: () => html`<svg viewBox="0 0 24 24" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2.6" stroke-linejoin="round"><path d="M3 3h18v18H3z"/><path d="M3 17.5h18" /><path d="M3 17.5h18V21H3z" fill="currentColor"/></svg>`,
  spoiled: () => html`<svg viewBox="0 0 24 24" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2.6" stroke-linejoin="round"><path d="M14 3h7v18h-8l3-5-4-3 3-5z"/><path d="M9 3H3v18h5l3-5-4-3 3-5z"/></svg>`,
  bare: () => draw(svg`<path d="M3 3h18v18H3z" stroke-dasharray="4.5 3.500"/>`),
  phone: () => draw(svg`<rect x="6" y="2" width="12" height="20" rx="2.5"/><path d="M10.5 18h3"/>`),
  shop: () => draw(svg`<path d="M2.5 21V9.5L12 3l9.5 6.5V21"/><path d="M7 21v-8h10v8M7 17h10"/>`),
  back: () => draw(svg`<path d="M15 4l-8 8 8 8"/>`),
  close: () => draw(svg`<path d="M5 5l14 14M19 5L5 19"/>`),
  sun: () => draw(svg`<circle cx="12" cy="12" r="4.5"/><path d="M12 1.5v3M12 19.5v3M1.5 12h3M19.5 12h3M4.6 4.6l2 2M17.4 17.4l2 2M4.6 19.4l2-2M17.4 6.6l2-2"/>`),
  moon: () => draw(svg`<path d="M20 14.5A8.5 8.5 0 0 1 9.5 4 8.5 8.5 0 1 0 20 14.5z"/>`),
  camera: () => draw(svg`<path d="M2.5 7h5l2-3h5l2 3h5v13h-19z"/><circle cx="12" cy="13" r="4"/>`),
  undo: () => draw(svg`<path d="M8 5 3 10l5 5"/><path d="M3 10h11a6 6 0 0 1 0 11h-3"/>`),
  rub: () => draw(svg`<path d="M9 5h12v14H9l-6-7z"/><path d="M12.5 9.5l5 5M17.5 9.5l-5 5"/>`),
  first: () => html`<svg viewBox="0 0 24 24" aria-hidden="true" fill="currentColor"><path d="M4 2h16l-5 6 5 6H7v8H4z"/></svg>`,
  air: () => draw(svg`<path d="M2 8c3.5-4 6.5-4 10 0s6.5 4 10 0M2 16c3.5-4 6.5-4 10 0s6.5 4 10 0"/>`),
  hand: () => draw(svg`<path d="M7 21c-2-3-4-5.500-4-8 1.500-1 3 .5 4 2V5a1.700 1.700 0 0 1 3.400 0v6-8a1.700 1.700 0 0 1 3.400 0v8-6.500a1.700 1.700 0 0 1 3.400 0V12-3.500a1.700 1.700 0 0 1 3.300 0V15c0 3-1.500 4.500-2.500 6z"/>`),
  door: () => draw(svg`<path d="M3 21V4h18v17M3 9h18M3 13.500h18"/><path d="M12 21v-4m-2.500 2.500L12 17l2.500 2.500"/>`),
  rain: () => draw(svg`<path d="M6 13a4.500 4.500 0 0 1 .5-9 6 6 0 0 1 11.300 2A3.700 3.700 0 0 1 18 13zM8 17l-1.500 4M13 17l-1.500 4M18 17l-1.500 4"/>`),
  drop: () => draw(svg`<path d="M12 2.500c4 5 6.500 8 6.500 11.500a6.500 6.500 0 0 1-13 0C5.500 10.500 8 7.500 12 2.500z"/>`),
  drip: () => draw(svg`<path d="M2 3h20v4H2zM8 7v3m8-3v3M8 14.500c1.300 1.700 2 2.800 2 3.900a2 2 0 0 1-4 0c0-1.100.7-2.200 2-3.900zM16 14.500c1.300 1.700 2 2.800 2 3.900a2 2 0 0 1-4 0c0-1.100.7-2.200 2-3.900z"/>`),
  hold: () => draw(svg`<path d="M4 9h13v6a5 5 0 0 1-5 5H9a5 5 0 0 1-5-5zM17 11h1.500a2.500 2.500 0 0 1 0 5H17M8 2.500c-1 1.500 1 2 0 3.500M13 2.500c-1 1.500 1 2 0 3.500"/>`),
  move: () => draw(svg`<path d="M2 16V8h11v8M13 10.500h4.500L21 14v2"/><circle cx="6.500" cy="17.500" r="2"/><circle cx="17" cy="17.500" r="2"/><path d="M8.500 17.500H15"/>`),
  note: () => draw(svg`<path d="M4 20l1-5L16.500 3.500l4 4L9 19zM14 6l4 4"/>`),
  dot: () => draw(svg`<circle cx="12" cy="12" r="9"/><path d="M12 7v10M7 12h10"/>`),
  lamp: () => draw(svg`<path d="M7 3h10v4l-2 4v10H9V11L7 7zM7 7h10M12 14v2"/>`),
  voice: () => draw(svg`<path d="M12 2.500a3.500 3.500 0 0 1 3.500 3.500v5a3.500 3.500 0 0 1-7 0V6A3.500 3.500 0 0 1 12 2.500zM5 11a7 7 0 0 0 14 0M12 18v4"/>`),
  play: () => draw(svg`<path d="M6 3.500 20 12 6 20.500z"/>`),
  share: () => draw(svg`<path d="M8 9H5v12h14V9h-3M12 15V3M8 6.5 12 2.500l4 4"/>`),
  add: () => draw(svg`<path d="M3.500 3.500h17v17h-17zM12 8v8M8 12h8"/>`),
  roll: () => draw(svg`<path d="M11 12a1.5 1.5 0 1 0 1.5-1.5A4.5 4.5 0 1 0 16.5 15 8 8 0 1 0 12 20h12"/>`),
};

/** The names of all drawings. */
export const drawn = ['waits', ...Object.keys(drawings)];

/** A dot that fills as hours count. @param {number} part 0 to 1 */
export function filling(part) {
  const p = Math.max(0, Math.min(0.999, part || 0));
  const a = p * 2 * Math.PI;
  const x = 12 + 6.5 * Math.sin(a), y = 12 - 6.5 * Math.cos(a);
  return html`<svg viewBox="0 0 24 24" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2.6">
    <circle cx="12" cy="12" r="9.7"/>
    <path stroke="none" fill="currentColor" d=${`M12 12V5.5A6.5 6.5 0 ${p > 0.5 ? 1 : 0} 1 ${x.toFixed(2)} ${y.toFixed(2)}z`}/></svg>`;
}

/** The end of a roll of film: its edge says how far a wait has come, its core
 * the state. @param {string} state @param {number} [part] 0 to 1 */
export const roll = (state, part = 1) => html`<span class="roll is-${state}"><svg class="end" viewBox="0 0 72 72" aria-hidden="true">
  <circle cx="36" cy="36" r="34" stroke-width="2"/><circle class="wound" cx="36" cy="36" r="24" stroke-width="1.5"/><circle class="wound" cx="36" cy="36" r="20.5"/>
  <circle class="turn" cx="36" cy="36" r="29.5" pathLength="100" transform="rotate(-90 36 36)" stroke-dasharray=${state === 'waits' ? `${(Math.max(0.03, Math.min(1, part)) * 100).toFixed(0)} 100` : nothing}/></svg>
  <span class="mark">${shape(state, part)}</span></span>`;

/** @param {string} name a key of drawings, or 'waits' @param {number} [part] */
export function shape(name, part = 0.3) {
  if (name === 'waits') return filling(part);
  return drawings[name]?.() ?? nothing;
}

/** Shape, word and colour of a state in one line. @param {string} state @param {string} word @param {number} [part] */
export const state = (state, word, part) =>
  html`<span class="state is-${state}">${shape(state, part)}<span>${word}</span></span>`;
