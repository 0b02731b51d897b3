// @ts-check
// Pins on the drawing: what was found, told apart by its shape. Where a pin
// stands is said in words that an owner reads too, 'low, rear', and drawn back
// from them: a ninth of a panel is as fine as a gloved finger points.

import { svg, nothing, tr } from '../tongue.js';
import { box } from './bodies.js';

/** @typedef {import('./bodies.js').Region} Region */

const high = ['high', 'mid-height', 'low'], along = ['front', 'middle', 'rear'], across = ['left', 'middle', 'right'];

/** @param {number} part 0 to 1 @param {string[]} words */
const nameOf = (part, words) => words[Math.max(0, Math.min(2, Math.floor(part * 3)))];

/** Where on a panel a finger came down, in words; nothing from a keyboard.
 * @param {MouseEvent} e @param {Region} r @param {import('./bodies.js').Body} b */
export function placeAt(e, r, b) {
  if (!e.detail) return '';
  const on = /** @type {HTMLElement} */ (e.currentTarget).getBoundingClientRect();
  const x = (e.clientX - on.left) / on.width, y = (e.clientY - on.top) / on.height;
  if (r.face === 'T') return `${nameOf(y, along)}, ${nameOf(x, across)}`;
  const deep = (r.y + r.h * (r.face === 'L' ? 1 - x : x)) / b.high; // height on the vehicle, not on the panel
  return `${nameOf(deep, high)}, ${nameOf(y, along)}`;
}

/** Where the words of a finding point to in its region, 0 to 1 both ways.
 * @param {string} words @param {Region} r @param {import('./bodies.js').Body} b @param {number} n the how-manieth here */
export function spotOf(words, r, b, n) {
  const [first = '', second = ''] = words.split(', ');
  const one = (/** @type {string[]} */ list, /** @type {string} */ part) => (list.includes(part) ? list.indexOf(part) : list.findIndex((w) => part.includes(w)));
  const beside = 0.5 + ((n % 3) - 1) * 0.14; // nothing said: beside one another
  const third = (/** @type {number} */ i) => (i < 0 ? beside : (i + 0.5) / 3);
  if (r.face === 'T') return { x: third(one(across, second)), y: third(one(along, first)) };
  const i = one(high, first);
  const deep = i < 0 ? beside : Math.max(0.12, Math.min(0.88, (((i + 0.5) / 3) * b.high - r.y) / r.h));
  return { x: r.face === 'L' ? 1 - deep : deep, y: third(one(along, second)) };
}

/** The words of a place as they are read; the line keeps them in English. @param {string} [words] */
export const placeWord = (words) => words?.split(', ').map(tr).join(', ');

/** The shape of a finding's answer. @param {string} answer */
export const pinShape = (answer) => (answer === 'declined' ? 'held' : answer ? 'done' : 'unknown');

/** @param {any} view @param {import('./bodies.js').Body} b @param {{p: any, r: Region, main: boolean}[]} placed */
export function pinsOf(view, b, placed) {
  const count = /** @type {Record<string, number>} */ ({});
  return (view.findings ?? []).map((/** @type {any} */ f, /** @type {number} */ i) => {
    const q = placed.find((x) => x.p.id === f.panel && x.main);
    if (!q) return nothing;
    const at = box(b, q.r), n = (count[f.panel] = (count[f.panel] ?? -1) + 1);
    const s = spotOf((f.place ?? '').toLowerCase(), q.r, b, n);
    return pin(at.x + s.x * at.w, at.y + s.y * at.h, i + 1, f.answer || '');
  });
}

/** A pin: round while nobody answered, a crossed square where the panel stays
 * bare, a square with its corner down where the owner took it.
 * @param {number} x @param {number} y @param {number} n @param {string} answer */
const pin = (x, y, n, answer) => svg`<g class="pin is-${pinShape(answer)}" transform="translate(${x.toFixed(1)} ${y.toFixed(1)})">
  ${answer === '' ? svg`<circle r="13"/>` : answer === 'declined' ? svg`<path d="M-12-12H12V12H-12Z"/><path class="cross" d="M-12-12 12 12M12-12-12 12"/>` : svg`<path d="M-12-12H12V3L3 12H-12Z"/>`}
  ${answer === 'declined' ? nothing : svg`<text y="6" text-anchor="middle">${n}</text>`}</g>`;
