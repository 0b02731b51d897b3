// @ts-check
// What is on this phone: lines and photos that the shop does not have yet, by
// vehicle, and a way to save them as a file if all else fails.

import { html, nothing, locale, sentence, t, words } from '../tongue.js';
import { clock, marks } from '../marks.js';
import { app, closeSheet, home, now, paint } from './app.js';
import { refuse } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';

/** What the worker said of the store, and when it was asked. @type {{at: number, status: any, here: any[]}} */
const known = { at: -Infinity, status: {}, here: [] };

const FRESH = 1000; // ms

/** The worker's answers as they were a moment ago; asks again and paints. */
export function onPhone() {
  if (performance.now() - known.at > FRESH) {
    known.at = performance.now();
    Promise.all([app.shop.ask('status'), app.shop.ask('here')]).then(([status, here]) => {
      if (JSON.stringify([status, here]) === JSON.stringify([known.status, known.here])) return;
      Object.assign(known, { status, here });
      paint();
    }, () => {});
  }
  return known;
}

/** @param {{lines: number, photos: number, voices: number}} h */
const counted = (h) => new Intl.ListFormat(locale()).format([h.lines === 1 ? t`1 line` : h.lines && t`${h.lines} lines`, h.photos === 1 ? t`1 photo` : h.photos && t`${h.photos} photos`,
  h.voices === 1 ? t`1 voice note` : h.voices && t`${h.voices} voice notes`].flatMap((said) => said || []));

/** @param {any[]} here @param {'photos' | 'voices'} what */
const sum = (here, what) => here.reduce((n, h) => n + h[what], 0);

/** What has no name of its own on this phone, by its logbook's kind. */
const nameless = words({ s: 'The shop', p: 'A place', j: 'A vehicle that is not on this phone' });

/** The lines and photos that are only here. */
export function onlyHere() {
  const { status: { waiting, photosWaiting, online, later }, here } = onPhone();
  if (waiting === undefined) return html`<p class="fact" data-testid="only-here">Looking at what is only here.</p>`;
  const shop = home()?.shop ?? {}, at = now(home());
  return html`
    ${waiting || photosWaiting
      ? html`<p class="fact" data-testid="only-here">${t`${counted({ lines: waiting, photos: sum(here, 'photos'), voices: sum(here, 'voices') })} only on this phone.`}</p>
        ${later ? html`<p class="fact" data-testid="later">${sentence(later.why)}</p><p>${t`This phone tries again at ${clock(later.at, shop, at)}. Nothing to do here.`}</p>`
          : html`<p>They go to the shop by themselves as soon as it is in reach. Nothing to do.</p>`}`
      : html`<p class="fact" data-testid="only-here">Everything from this phone is at the shop.</p>`}
    ${['none', 'off'].includes(home()?.net?.role) ? html`<p class="fact">This phone does not belong to the shop. <a href="#/join" @click=${closeSheet}>Join it.</a></p>` : nothing}
    <p>${online === undefined ? nothing : online ? t`The shop is in reach.` : t`The shop is out of reach. Work on: all steps answer from this phone.`}</p>
    ${here.length ? html`<ul class="plain-list held">${here.map((h) => html`<li data-testid="held:${h.name}"><span class="row wrap"><span class="tape">${h.name || nameless[h.kind]}</span><span>${counted(h)}</span></span>
      ${h.texts.length ? html`<ul class="small quiet">${h.texts.map((/** @type {any} */ said) => html`<li>${typeof said === 'string' ? marks(sentence(said), shop, at) : said.typed}</li>`)}</ul>` : nothing}</li>`)}</ul>` : nothing}`;
}

/** @param {any} s */
export function phoneSheet(s) {
  const { waiting = 0 } = onPhone().status;
  return sheet(t`Where the lines are`, html`${onlyHere()}
    ${refusal(app.refused)}
    <div class="acts">${waiting ? html`<button type="button" class="act low" data-testid="export" @click=${() => save(false)}>Save them as a file</button>` : nothing}
      <a class="act low" href="#/phone" data-testid="this-phone" @click=${closeSheet}>More about this phone</a></div>`);
}

/** @param {boolean} all every line that this phone holds, or those that are only here */
export async function save(all) {
  try {
    const link = document.createElement('a');
    link.href = URL.createObjectURL(await app.shop.ask('export', { all }));
    link.download = 'bayhold-phone.jsonl';
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  } catch (error) {
    refuse(t`Not saved: ${sentence(String(error instanceof Error ? error.message : error))}`);
  }
}
