// @ts-check
// The core's views come in through here, and what in them is a sentence or a
// name of ours is put into the tongue in use. What a person typed has other
// fields, and passes as it is.

import { chosen } from './own.js';
import { foreign, sentence, tr } from './tongue.js';

/** Fields that hold a sentence, wherever they stand. */
const SENTENCES = ['text', 'out', 'cond', 'say', 'why', 'caution', 'circle', 'verdict', 'bridged', 'floor', 'primer', 'word'];

/** Fields that hold a name or a word, by what they are fields of.
 * @type {Record<string, string[]>} */
const OF = {
  name: ['gate', 'gates', 'gates_held', 'stages', 'panels', 'spots', 'setbacks', 'ongoing', 'evidence', 'waivers', 'route', 'calls'],
  panel_name: ['gate', 'gates', 'gates_held', 'findings'],
  spot_name: ['margin'], what: ['rules'], source: ['rules', 'climate'], vehicle: ['jobs'],
};

/** Fields of ours that are keys as well, or are read in another tongue than the
 * phone's: the English stays beside the word. */
const KEPT = ['spots', 'gate', 'gates', 'panels'];

/** A name of ours in the tongue in use. @param {string} name */
export const named = (name) => (/^drop \d/.test(name) ? sentence(name) : tr(name));

/** A view as it came, put into the tongue in use. @param {any} view */
export function spoken(view) {
  const shop = view.shop;
  if (shop) {
    shop.own ??= shop.units; // the shop's, whoever reads
    shop.units = chosen().degrees || shop.own;
  }
  if (foreign()) put(view, '');
  return view;
}

/** @param {any} node @param {string} of the field that holds it, or its list */
function put(node, of) {
  if (!node || typeof node !== 'object') return;
  if (Array.isArray(node)) return node.forEach((each) => put(each, of));
  if (of === 'routes') return; // they are written back (rules.js)
  if (KEPT.includes(of)) node.english = { name: node.name, text: node.text, out: node.out };
  if (of === 'lines' && node.kind === 'note') return;
  for (const [field, value] of Object.entries(node)) {
    if (SENTENCES.includes(field) && typeof value === 'string') node[field] = sentence(value);
    else if (OF[field]?.includes(of)) node[field] = named(value);
    else put(value, field);
  }
}
