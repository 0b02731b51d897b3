// @ts-check
// What the screen says, in the tongue that a person chose. English is the key:
// it stands in the sources where it is said, and a catalogue (spanish.txt) says
// the same in Spanish, a row each. Without a row the English stays.
//
// Only what passes through here is ever put into another tongue:
//
//   html`<p>No panel yet.</p>`   what stands in a template, and its labels
//   t`${n} of ${all}`            a sentence; the key is '{1} of {2}'
//   words({ title: 'Lamp' })     a table of words, as they are read
//   tr(word)                     a word of ours that came as data
//   sentence(text)               a sentence of the core or of the shop server
//
// What a person typed passes through none of them.

import { html as plain } from './vendor/lit-html.js';

export { nothing, render, svg } from './vendor/lit-html.js';

/** What English says in one tongue.
 * @typedef {object} Book
 * @property {Map<string, string> | null} table null: English
 * @property {{key: string, says: string, match?: RegExp}[]} patterns the rows with something filled in, the most telling first, each made ready when it is needed
 * @property {WeakMap<object, any>} templates lit knows a template by its identity
 * @property {Map<string, string>} known sentences that were looked up */

/** Below it stand the rows of whole sentences. */
const SENTENCES = '\n# ==';

/** {1} as it stands; {~1} in this tongue too, where it is a word of ours; {#1} a number. */
const FILLED = /\{([~#]?)(\d)\}/g;

/** @type {Book} the tongue in use */
let book = bound('');

/** The tongues that were spoken. @type {Map<string, Book>} */
const books = new Map([['en', book]]);

/** The tongues, each by its own name, the catalogue that holds it, and what a home
 * screen reads of the app.
 * @type {Record<string, {name: string, file?: string, locale: string, manifest: string}>} */
export const tongues = { en: { name: 'English', locale: 'en-GB', manifest: '/app/manifest.webmanifest' }, es: { name: 'Español', file: '/app/spanish.txt', locale: 'es-MX', manifest: '/app/spanish.webmanifest' } };

let tongue = 'en';

export const foreign = () => book.table !== null;

/** How dates and numbers are written: as this phone writes that tongue, if it does. */
export const locale = () => {
  const own = navigator.languages?.find((l) => l.split('-')[0] === tongue);
  return tongue !== 'en' && own ? own : tongues[tongue].locale;
};

/** Speaks another tongue from now on. Answers whether anything changed; throws
 * where its catalogue cannot be had. @param {string} to */
export async function speak(to) {
  if (to === tongue || !tongues[to]) return false;
  book = await bookOf(to);
  const { manifest } = tongues[to];
  tongue = document.documentElement.lang = to;
  document.querySelector('link[rel=manifest]')?.setAttribute('href', manifest);
  return true;
}

/** What `say` says in another tongue, for somebody else to read. Where its
 * catalogue is not here yet it is this phone's, and `again` is called when it is.
 * @template T @param {string} to @param {() => T} say @param {() => void} again @returns {T} */
export function inTongue(to, say, again) {
  const other = books.get(to), was = [book, tongue];
  if (!other) bookOf(to).then(again, () => {});
  else [book, tongue] = [other, to];
  try {
    return say();
  } finally {
    [book, tongue] = /** @type {[Book, string]} */ (was);
  }
}

/** @param {string} to */
async function bookOf(to) {
  let there = books.get(to);
  if (!there) {
    const response = await fetch(tongues[to].file ?? '');
    if (!response.ok) throw new Error(String(response.status));
    books.set(to, (there = bound(await response.text())));
  }
  return there;
}

/** The rows of a catalogue: 'English = Spanish', comments after #.
 * @param {string} text */
export function catalogue(text) {
  /** @type {[string, string][]} */
  const rows = [];
  for (const line of text.split('\n')) {
    const at = line.indexOf(' = ');
    if (at > 0 && line[0] !== '#') rows.push([line.slice(0, at), line.slice(at + 3)]);
  }
  return new Map(rows);
}

/** @param {string} text a catalogue; '' for English @returns {Book} */
function bound(text) {
  const told = (/** @type {string} */ key) => key.replace(FILLED, '').length;
  return {
    table: text ? catalogue(text) : null,
    patterns: [...catalogue(text.slice(text.indexOf(SENTENCES)))].filter(([key]) => key.includes('{1}')).map(([key, says]) => ({ key, says })).sort((a, b) => told(b.key) - told(a.key)),
    templates: new WeakMap(),
    known: new Map(),
  };
}

/** @param {string} text a catalogue; '' for English */
export const use = (text) => void (book = bound(text));

/** @param {string} text @param {any[]} values */
const fill = (text, values) => text.replace(FILLED, (_, ours, n) => (ours === '~' ? sentence(values[n - 1]) : values[n - 1]));

/** A word or sentence of ours, without anything filled in. @template T @param {T} word @returns {T} */
export const tr = (word) => /** @type {any} */ (book.table && typeof word === 'string' ? book.table.get(word) ?? begun(word) : null) ?? word;

/** A sentence with what is filled in. @param {TemplateStringsArray} strings @param {any[]} values */
export const t = (strings, ...values) => {
  const key = strings.reduce((all, s, i) => `${all}{${i}}${s}`);
  return fill(book.table?.get(key) ?? key, values);
};

/** A table of words whose strings are read in the tongue in use. @template T @param {T} of @returns {T} */
export const words = (of) => /** @type {any} */ (new Proxy(/** @type {any} */ (of), {
  get(all, key) {
    const word = all[key];
    return typeof word === 'string' ? tr(word) : word && typeof word === 'object' ? words(word) : word;
  },
}));

/** lit's html, with what stands in it in the tongue in use.
 * @param {TemplateStringsArray} strings @param {any[]} values */
export const html = (strings, ...values) => plain(book.table ? put(strings) : strings, ...values);

/** @param {TemplateStringsArray} strings @returns {TemplateStringsArray} */
function put(strings) {
  let there = book.templates.get(strings);
  if (!there) {
    const spoken = template(strings);
    book.templates.set(strings, (there = Object.assign(spoken, { raw: spoken })));
  }
  return there;
}

/** The strings of a template with their text, and the labels among their
 * attributes, put through tr. @param {readonly string[]} strings */
function template(strings) {
  let tag = false, quote = '', label = false;
  return strings.map((s) => {
    let out = '';
    for (let at = 0; at < s.length;) {
      const rest = s.slice(at), end = rest.search(quote ? quote : tag ? /[>"']/ : '<');
      const piece = end < 0 ? rest : rest.slice(0, end), next = end < 0 ? '' : rest[end];
      out += (quote ? label : !tag) ? chunk(piece) + next : piece + next;
      if (quote) quote = next ? '' : quote;
      else if (!tag) tag = next === '<';
      else if (next === '>') tag = false;
      else if (next) [quote, label] = [next, /(aria-label|placeholder|title|alt)=$/.test(piece)];
      at += piece.length + 1;
    }
    return out;
  });
}

/** A piece of text with the space around it. @param {string} piece */
const chunk = (piece) => piece.replace(/^(\s*)(.*?)(\s*)$/s, (_, before, words, after) => before + tr(words.replace(/\s+/g, ' ')) + after);

/** A mark of a value (marks.js). A sentence is looked up without its values. */
const MARK = /⟨[^⟩]*⟩/g;

/** From one value to another, wherever a row has it filled in. */
const RANGE = /(⟨\d+⟩) to (⟨\d+⟩)/g;

/** A sentence of the core or of the shop server: by its row, by a row that has
 * something filled in, or piece by piece. @param {string} text @returns {string} */
export function sentence(text) {
  if (!book.table || !text) return text;
  /** @type {string[]} */
  const marks = [];
  const bare = text.replace(MARK, (mark) => `⟨${marks.push(mark) - 1}⟩`);
  let says = book.known.get(bare);
  if (says === undefined) {
    says = (whole(bare) ?? filled(bare) ?? pieces(bare)).replace(RANGE, (_, from, to) => t`${from} to ${to}`);
    book.known.set(bare, says);
  }
  return says.replace(MARK, (mark) => marks[Number(mark.slice(1, -1))]);
}

/** By its own row, with or without the full stop, begun as it is here or with
 * the other sort of letter. @param {string} bare @returns {string | undefined} */
function whole(bare) {
  const says = book.table?.get(bare) ?? begun(bare), stop = bare.endsWith('.') && says === undefined ? whole(bare.slice(0, -1)) : undefined;
  return stop === undefined ? says : stop + '.';
}

/** A word that begins a sentence here and not in its row, or the other way round.
 * @param {string} word */
function begun(word) {
  const other = word && book.table?.get(turned(word));
  return other ? turned(other) : undefined;
}

/** Its first letter large instead of small, or small instead of large. @param {string} word */
const turned = (word) => (word[0] === word[0].toLowerCase() ? word[0].toUpperCase() : word[0].toLowerCase()) + word.slice(1);

/** By the first row whose words stand round what is filled in.
 * @param {string} bare @returns {string | undefined} */
function filled(bare) {
  for (const turn of [(/** @type {string} */ s) => s, turned]) {
    for (const p of book.patterns) {
      const found = turn(bare).match((p.match ??= matcher(p)));
      if (found) return turn(fill(p.says, Array.from({ length: 9 }, (_, i) => found.groups?.['v' + (i + 1)])));
    }
  }
}

/** A value or two, a number with its unit, words without a value, and what ends a
 * sentence as one of its own. */
const VALUE = '⟨\\d+⟩(?: to ⟨\\d+⟩)?', NUMBER = '[-−]?\\d[\\d.,]*(?: (?:%|\\p{Ll}{1,2}))?', WORDS = '[^⟨]+?', REST = '.+';

/** What may be filled in where: in 'rear left sill ⟨c⟩' a spot and its
 * temperature, for right behind another stands a value or a number.
 * @param {{key: string, says: string}} p */
function matcher({ key, says }) {
  /** @type {Set<string>} */
  const seen = new Set();
  return new RegExp('^' + key.replace(/[.*+?^$()|[\]\\]/g, '\\$&').replace(/\{(\d)\}/g, (_, n, at, all) => {
    if (seen.has(n)) return `\\k<v${n}>`;
    seen.add(n);
    const other = says.includes(`{#${n}}`) || all[at - 2] === '}' ? NUMBER : at + 3 === all.length && /[.:,] $/.test(all.slice(0, at)) ? REST : WORDS;
    return `(?<v${n}>${VALUE}|${other})`;
  }) + '$', 'u');
}

/** Several sentences, a list, or a name with its value.
 * @param {string} bare @returns {string} */
function pieces(bare) {
  for (const [ends, by] of /** @type {[RegExp, string][]} */ ([[/([.?!]) /g, '$1\n'], [/: /g, ':\n'], [/, /g, ',\n']])) {
    const all = bare.replace(ends, by).split('\n');
    if (all.length > 1) return all.map((each) => (/[:,]$/.test(each) ? sentence(each.slice(0, -1)) + each.slice(-1) : sentence(each))).join(' ');
  }
  const [, name, value] = bare.match(/^([^⟨]+) (⟨\d+⟩)$/) ?? [];
  return name ? `${sentence(name)} ${value}` : bare;
}
