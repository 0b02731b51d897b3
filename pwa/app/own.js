// @ts-check
// What a person chose for themselves on this phone: the tongue, and the units
// that numbers are told in. On a shared phone it changes with who is tapped.
// Nothing chosen is the phone's own tongue and the shop's units.

import { speak, tongues } from './tongue.js';

/** @typedef {{tongue?: string, degrees?: string, lengths?: string}} Own */

const KEY = 'own:', LAST = 'own';

/** Who is tapped; '' is nobody. Known before the first view, from the last visit. */
let person = localStorage.getItem(LAST) ?? '';

/** @returns {Own} */
function read() {
  try { return JSON.parse(localStorage.getItem(KEY + person) ?? '{}'); } catch { return {}; }
}

/** @type {Own} */
let own = read();

export const chosen = () => own;

/** The tongue of the first in the phone's list that is one of ours. */
const phones = () => (navigator.languages ?? []).map((l) => l.split('-')[0]).find((l) => tongues[l]) ?? 'en';

/** Called when anything is told otherwise from now on. @type {() => void} */
let other = () => {};

/** @param {() => void} fn */
export const onOther = (fn) => { other = fn; };

/** Speaks what was chosen; where its catalogue cannot be had, English. */
export const settle = () => speak(own.tongue ?? phones()).catch(() => speak('en'));

/** Another person was tapped. @param {string} id */
export async function meet(id) {
  if (id === person) return;
  person = id;
  localStorage.setItem(LAST, id);
  const before = JSON.stringify(own);
  own = read();
  if ((await settle()) || JSON.stringify(own) !== before) other();
}

/** Whoever is tapped chose. Throws where the tongue cannot be had, and nothing is chosen.
 * @param {Own} choice */
export async function choose(choice) {
  if (choice.tongue) await speak(choice.tongue);
  own = { ...own, ...choice };
  localStorage.setItem(KEY + person, JSON.stringify(own));
  other();
}
