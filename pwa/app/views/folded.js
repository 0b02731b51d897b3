// @ts-check
// What is folded has nothing inside to draw until somebody unfolds it.

import { paint } from './app.js';

/** @type {Set<string>} */
const open = new Set();

/** @param {string} key the vehicle and what of it */
export const unfolded = (key) => open.has(key);

/** For the details with that key, when they are unfolded or folded. @param {string} key */
export const onFold = (key) => (/** @type {any} */ e) => {
  open[e.target.open ? 'add' : 'delete'](key);
  paint();
};
