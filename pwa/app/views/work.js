// @ts-check
// What stands in a job of film, measures, heat and patches: the core hands the
// lines' bodies on as they are kept, and here they become lists.

import { json } from '../jsonlines.js';

/** @type {Record<string, string>} */
const lists = { film: 'films', feature: 'features', heat: 'heats', patch: 'patches' };

/** Bodies read before: they never change. @type {Map<string, any>} */
const read = new Map();

/** @param {string} hex */
function body(hex) {
  if (!read.has(hex)) read.set(hex, JSON.parse(json(Uint8Array.from(hex.match(/../g) ?? [], (x) => parseInt(x, 16)))));
  return read.get(hex);
}

/** @param {any} view the job */
export function unpack(view) {
  if (!view.work) return;
  for (const name of Object.values(lists)) view[name] = [];
  for (let i = 0; i < view.work.length; i += 2) view[lists[view.work[i]]].push(body(view.work[i + 1]));
  // A feature that was measured again stands where its last measure does.
  view.features = [...new Map(view.features.map((/** @type {any} */ f) => [f.panel + ' ' + f.id, f])).values()];
  for (const h of view.heats) h.length ??= 0;
}
