// @ts-check
// What the page knows: the views that the worker sent, where the person is,
// and what is open on screen. Painting reads it; taps change it and paint.

/** @typedef {any} View the JSON of checklist/view, as the worker sends it */

/** @type {{
 *   shop: any, views: Record<string, View>,
 *   route: {name: string, id: string}, sheet: null | {name: string, [key: string]: any},
 *   noted: null | {say: string, log?: any, id?: any, ends: number},
 *   refused: string, again: null | (() => void), fault: string, away: string[], draft: Record<string, any>, gun: boolean,
 * }} */
export const app = {
  shop: null, // the door to the worker, set by main.js
  views: {},
  route: { name: 'home', id: '' },
  sheet: null,
  noted: null,
  refused: '',
  again: null, // answers 'yes, that is right' to a line that was asked about
  fault: '',
  away: [],
  draft: {},
  gun: false, // a hot gun is being paced: the screen stays awake
};

/** @type {() => void} */
let painter = () => {};
let due = false;

/** @param {() => void} fn */
export const onPaint = (fn) => { painter = fn; };

/** Paints once, soon, however often it is called. */
export function paint() {
  if (due) return;
  due = true;
  queueMicrotask(() => { due = false; painter(); });
}

/** The view of a name, for the job the one on screen. @param {string} name @param {string} [id] */
export const viewOf = (name, id = '') => app.views[name + ':' + id];

/** The newest view that carries the shop, its people and who is tapped. */
export const home = () => viewOf('home');

/** The job on screen. */
export const job = () => viewOf('job', app.route.id);

/** Now in the shop's time: the view's moment and what this page's clock added.
 * @param {View} view */
export const now = (view) => (view ? view.now + (performance.now() - (view.came ?? performance.now())) : Date.now());

/** Opens a sheet over the page. @param {string} name @param {Record<string, any>} [with_] */
export function openSheet(name, with_ = {}) {
  app.refused = '';
  app.again = null;
  app.sheet = { ...with_, name };
  paint();
}

export function closeSheet() {
  app.refused = '';
  app.again = null;
  app.sheet = null;
  paint();
}

/** @param {string} hash */
export const go = (hash) => { location.hash = hash; };
