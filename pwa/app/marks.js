// @ts-check
// Marks in sentences become text in the shop's zone and units. The core
// writes ⟨t:MS⟩ a moment, ⟨c:N⟩ milli-degrees Celsius, ⟨k:N⟩ milli-kelvin of
// difference and ⟨h:MS⟩ hours and minutes; it never knows who reads.

import { locale } from './tongue.js';

/** @typedef {{name?: string, units?: string, zone?: string}} Shop */

const MINUTE = 60_000, HOUR = 3_600_000;

/** Formats, and minutes as they were shown: dear to make, and every painting
 * asks for the same few. @type {Map<string, any>} */
const made = new Map();

/** @template T @param {string} name @param {() => T} make @returns {T} */
function once(name, make) {
  if (!made.has(name)) {
    if (made.size > 2000) made.clear();
    made.set(name, make());
  }
  return made.get(name);
}

/** @param {string} key @param {string|undefined} zone @param {Intl.DateTimeFormatOptions} options */
const format = (key, zone, options) => once(key + zone + locale(), () => {
  try {
    return new Intl.DateTimeFormat(locale(), { ...options, timeZone: zone || undefined });
  } catch { // a zone that this browser does not know: the phone's own
    return new Intl.DateTimeFormat(locale(), options);
  }
});

/** A moment in a format that tells no seconds.
 * @param {number} ms @param {string} key @param {Shop} shop @param {Intl.DateTimeFormatOptions} options */
const told = (ms, key, shop, options) => once([key, shop.zone, locale(), Math.floor(ms / MINUTE)].join(' '), () => format(key, shop.zone, options).format(ms));

/** The day as 2026-01-14, to compare days in the shop's zone. @param {number} ms @param {Shop} shop */
const day = (ms, shop) =>
  told(ms, 'd', shop, { year: 'numeric', month: '2-digit', day: '2-digit' });

/** 12:20, or Thu 07:30 on another day, or 24 Nov 07:30 beyond a week.
 * @param {number} ms @param {Shop} shop @param {number} now */
export function clock(ms, shop, now) {
  const time = told(ms, 't', shop, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' });
  if (day(ms, shop) === day(now, shop)) return time;
  if (Math.abs(ms - now) < 6 * 24 * HOUR) return told(ms, 'w', shop, { weekday: 'short' }) + ' ' + time;
  return told(ms, 'm', shop, { day: 'numeric', month: 'short' }) + ' ' + time;
}

/** 14 min below an hour, 6.5 h above, whole hours bare. Cut, not rounded: a
 * count never shows hours that it does not have yet. @param {number} ms */
export function hours(ms) {
  const sign = ms < 0 ? '-' : '';
  const span = Math.abs(ms);
  if (span < HOUR) return sign + Math.floor(span / MINUTE) + ' min';
  const tenths = Math.floor(span / (HOUR / 10));
  return sign + number(tenths / 10, tenths % 10 ? 1 : 0) + ' h';
}

/** @param {number} milli milli-degrees Celsius @param {Shop} shop */
export function temperature(milli, shop) {
  const f = shop.units === 'F';
  return round(f ? milli * 9 / 5 + 32_000 : milli) + (f ? '\u00a0°F' : '\u00a0°C');
}

/** @param {number} milli milli-kelvin of difference @param {Shop} shop */
export function difference(milli, shop) {
  return shop.units === 'F' ? round(milli * 9 / 5) + '\u00a0°F' : round(milli) + '\u00a0K';
}

/** One decimal, with a real minus. @param {number} milli */
function round(milli) {
  const tenths = Math.round(milli / 100) / 10;
  return number(Object.is(tenths, -0) ? 0 : tenths, 1).replace('-', '−');
}

/** A number with its point or comma, as the tongue in use writes it; no mark in
 * its thousands. @param {number} n @param {number} [places] all of them shown; without, what it has */
export const number = (n, places) => once('n' + places + locale(), () => new Intl.NumberFormat(locale(), { useGrouping: false, minimumFractionDigits: places, maximumFractionDigits: places ?? 6 })).format(n);

/** The moment that a date field shows, read as the shop's wall clock and not as
 * this phone's: 2026-01-14T08:00. NaN if it is empty. @param {string} text @param {Shop} shop */
export function fromField(text, shop) {
  const wall = Date.parse(text + 'Z');
  if (Number.isNaN(wall)) return NaN;
  const shown = format('f', shop.zone, { year: 'numeric', month: '2-digit', day: '2-digit', hour: '2-digit', minute: '2-digit', second: '2-digit', hourCycle: 'h23' });
  const ahead = (/** @type {number} */ ms) => {
    const p = Object.fromEntries(shown.formatToParts(ms).map(({ type, value }) => [type, Number(value)]));
    return Date.UTC(p.year, p.month - 1, p.day, p.hour, p.minute, p.second) - ms;
  };
  return wall - ahead(wall - ahead(wall)); // twice: the first guess may lie across a change of the clocks
}

/** Milli-percent as a whole percent. @param {number} milli */
export const humidity = (milli) => Math.round(milli / 1000) + ' %';

/** A sentence with its marks turned into text. An unknown mark stays as it is.
 * @param {string|undefined} text @param {Shop} shop @param {number} now */
export function marks(text, shop, now) {
  return (text || '').replace(/⟨([tckh]):(-?\d+)⟩/g, (whole, kind, digits) => {
    const n = Number(digits);
    switch (kind) {
      case 't': return clock(n, shop, now);
      case 'c': return temperature(n, shop);
      case 'k': return difference(n, shop);
      case 'h': return hours(n);
    }
    return whole;
  });
}
