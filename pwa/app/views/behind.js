// @ts-check
// What lies behind an open sheet cannot be reached, by a finger, by Tab or by a
// screen reader. A modal dialog of the browser's own does that in one task, in which
// it styles every element of the page anew: on a slow phone that alone takes longer
// than a tap may wait. So the page is set inert part by part, a lot in each frame, and
// then as a whole, which costs little by then and holds for what is drawn meanwhile.
// It comes back the same way, first the part that the sheet was opened from. What is
// said aloud (#said, #alarm) is never inert: an alarm is heard while a sheet is open.

import { afterFrame } from './bits.js';

/** How many elements a frame takes, at the least. */
const LOT = 80;

/** Which opening or closing is under way: a newer one takes its place. */
let turn = 0;

/** Where the focus was before the sheet. @type {HTMLElement | null} */
let from = null;

/** The dock first: the next tap is likely to be there. */
const roots = () => ['dock', 'page'].map((id) => /** @type {HTMLElement} */ (document.getElementById(id)));

/** An element with all that is in it. @param {HTMLElement} e */
const size = (e) => 1 + e.getElementsByTagName('*').length;

/** Cuts an element into parts of a lot at most. @param {HTMLElement} e @returns {HTMLElement[]} */
const parts = (e) => (size(e) <= LOT ? [e] : [...e.children].flatMap((c) => (c instanceof HTMLElement ? parts(c) : [])));

/** Does it to lot after lot, each in a frame of its own, then the last thing.
 * @param {HTMLElement[]} all @param {boolean} on @param {() => void} last */
function inLots(all, on, last) {
  const mine = ++turn;
  const next = () => {
    if (mine !== turn) return;
    for (let n = 0; all.length && n < LOT;) {
      const e = /** @type {HTMLElement} */ (all.shift());
      e.inert = on;
      n += size(e);
    }
    if (all.length) afterFrame(next);
    else last();
  };
  afterFrame(next);
}

/** Sets all of the page inert, from the next frame on. */
export function cover() {
  from = /** @type {HTMLElement | null} */ (document.activeElement);
  inLots(roots().flatMap(parts), true, () => { for (const r of roots()) r.inert = true; });
}

/** Gives back all that is inert by now, and the focus to where it was. */
export function uncover() {
  for (const r of roots()) r.inert = false;
  const all = roots().flatMap((r) => [.../** @type {NodeListOf<HTMLElement>} */ (r.querySelectorAll('[inert]'))]);
  for (const e of all) if (e.contains(from)) e.inert = false;
  inLots(all, false, () => {});
  from?.focus({ preventScroll: true });
  from = null;
}
