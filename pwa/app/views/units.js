// @ts-check
// What a hand types and what a line keeps: for each sort of number its units,
// the shop's own first, and how many of the line's unit are one of them.

import { number } from '../marks.js';
import { chosen } from '../own.js';
import { tr } from '../tongue.js';
import { home } from './app.js';

/** @typedef {[string, number][]} Units */

/** The line keeps micrometres, milliseconds, thousandths of a percent.
 * @type {Record<string, {C: Units, F: Units}>} */
const table = {
  mm: { C: [['mm', 1000], ['in', 25_400]], F: [['in', 25_400], ['mm', 1000]] },
  m: { C: [['m', 1_000_000], ['ft', 304_800]], F: [['ft', 304_800], ['m', 1_000_000]] },
  um: { C: [['µm', 1], ['mil', 25.4]], F: [['mil', 25.4], ['µm', 1]] },
  min: { C: [['min', 60_000]], F: [['min', 60_000]] },
  '%': { C: [['%', 1000]], F: [['%', 1000]] },
  deg: { C: [['°', 1]], F: [['°', 1]] },
  n: { C: [['', 1]], F: [['', 1]] },
  months: { C: [['months', 1]], F: [['months', 1]] },
  speed: { C: [['mm/min', 1], ['in/min', 25.4]], F: [['in/min', 25.4], ['mm/min', 1]] },
  temp: { C: [['°C', 0], ['°F', 0]], F: [['°F', 0], ['°C', 0]] },
};

/** Degrees go by the person, then by the shop; lengths so too, and a shop that
 * reads Fahrenheit has inches. @param {string} of @returns {'C' | 'F'} */
function units(of) {
  const shop = home()?.shop;
  if (of === 'temp') return shop?.units === 'F' ? 'F' : 'C';
  const own = chosen().lengths;
  return (own ? own === 'in' : (shop?.own ?? shop?.units) === 'F') ? 'F' : 'C';
}

/** The units that a number can be typed in, the shop's first. @param {string} of */
export const unitsOf = (of) => table[of][units(of)].map(([name]) => name);

/** What was typed, in the line's unit; NaN if it is no number.
 * @param {string} typed @param {string} of @param {string} unit */
export function inLine(typed, of, unit) {
  const n = /^-?(\d+\.?\d*|\.\d+)$/.test(typed) ? Number(typed) : NaN;
  if (of === 'temp') return Math.round((unit === '°F' ? ((n - 32) * 5) / 9 : n) * 1000);
  return Math.round(n * (table[of].C.find(([name]) => name === unit)?.[1] ?? 1));
}

/** A number of a line in the shop's unit: '2.4 m'. @param {number} value @param {string} of */
export function shown(value, of) {
  const [name, size] = table[of][units(of)][0];
  if (of === 'temp') return number(units(of) === 'F' ? (value * 9) / 5 / 1000 + 32 : value / 1000, 1) + ' ' + name;
  const n = Math.round((value / size) * 10) / 10;
  return `${number(n)}${name === '°' ? '' : ' '}${tr(name)}`.trim();
}
