// @ts-check
// One panel, opened from the drawing: its answer, its tick, and what a hand
// has to say about it.

import { html, nothing, t, tr } from '../tongue.js';
import { marks } from '../marks.js';
import { app, closeSheet, job, now, openSheet } from './app.js';
import { short } from './answer.js';
import { refusal, tick } from './dock.js';
import { photoButton, picture } from './camera.js';
import { families, filmOf } from './forms.js';
import { findingName } from './inspection.js';
import { pinShape } from './pins.js';
import { sheet } from './sheet.js';
import { shape, state } from './shapes.js';
import { spoil } from './setbacks.js';
import { shown } from './units.js';
import { findingAnswer, finishedWord, oftenSpoiled, spoiledShape, stretchWord, walkWord, wipeWord } from './words.js';

/** @param {any} s */
export function panelSheet(s) {
  const view = job();
  const place = view.panels.findIndex((/** @type {any} */ p) => p.id === s.panel);
  const p = view.panels[place];
  if (!p) return sheet(t`Panel`, html`<p>This panel is not on this vehicle any more.</p>`);
  const at = now(view), g = p.gate, wipe = p.wipe ?? { state: 'none', until: 0 };
  const left = wipe.state === 'good' ? Math.max(0, wipe.until - at) : 0;
  const touched = (view.setbacks ?? []).filter((/** @type {any} */ x) => x.where === 'panel' || x.where === 'spot');
  return sheet(html`<span class="row"><span class="hang">${place + 1}</span><span>${p.name}</span></span>`, html`
    ${g ? html`<p>${state(g.state, short(g, view))}</p><p class="fact">${marks(g.text, view.shop, at)}</p>
      ${g.out ? html`<p>${marks(g.out, view.shop, at)}</p>` : nothing}` : nothing}
    <p class="quiet">${[left && g ? '' : wipeWord[wipe.state], tr(p.zone), p.contour ? t`contour` : t`flat`, p.primer ? t`primer planned` : ''].filter(Boolean).join(' · ')}</p>
    ${made(view, p)}
    ${(view.findings ?? []).filter((/** @type {any} */ f) => f.panel === p.id).map((/** @type {any} */ f) => html`<p class="row wrap">${picture(f.photo, tr(f.what))}<span class="grow">${findingName({ panels: [] }, { ...f, panel: '' }).replace(', ' + walkWord.vehicle, '')}
      ${state(pinShape(f.answer || ''), findingAnswer[f.answer || ''] ?? f.answer)}</span></p>`)}
    ${refusal(app.refused)}
    <div class="acts">
      ${panelTicks(view, p).map((x) => html`<button type="button" class="act ${x.go ? 'go' : ''}" data-testid="tick:${x.stage}:${p.id}"
        @click=${() => done(tick(view, { ...x, panel: p.id, panel_name: p.name }, 'done', finishedWord(x)))}>${finishedWord(x)}</button>`)}
      ${panelTicks(view, p).slice(0, 1).map((x) => [['not-done', t`Not done`, t`Noted: not done`], ['from-memory', t`From memory`, t`Noted from memory`]].map(([answer, word, words]) => html`<button type="button" class="act"
        @click=${() => done(tick(view, { ...x, panel: p.id, panel_name: p.name }, answer, words))}>${word}</button>`))}</div>
    <div class="choice glove">
      ${touched.filter((/** @type {any} */ x) => oftenSpoiled.includes(x.cause)).map((/** @type {any} */ x) => html`<button type="button" class="press iced" data-testid="setback:${x.cause}:${p.id}"
        @click=${() => done(spoil(view, x, [p.id]))}>${shape(spoiledShape[x.cause])}<span>${x.name}</span></button>`)}
      <button type="button" class="press" @click=${() => openSheet('finding', { panel: p.id })}>Found something</button>
      ${bench.map(([proof, form, word]) => ((view.stages ?? []).some((/** @type {any} */ x) => x.proof === proof) ? html`<button type="button" class="press" data-testid="panel-${form}" @click=${() => openSheet('form', { form, panel: p.id })}>${tr(word)}</button>` : nothing))}
      ${photoButton(view, p.id)}
    </div>`);
}

/** What can be written down of a panel at any time. */
const bench = [['survey', 'feature', 'Measure'], ['film', 'film', 'Film']];

/** Its film, and what was measured on it with what the core makes of it.
 * @param {any} view @param {any} p */
function made(view, p) {
  const film = filmOf(view, p.id), list = (view.features ?? []).filter((/** @type {any} */ f) => f.panel === p.id);
  return html`${film ? html`<p>${[tr(families.find(([key]) => key === film.family)?.[1] ?? film.family), film.sheet, film.batch ? t`batch ${film.batch}` : t`batch not written down`, film.roll ? t`roll ${film.roll}` : ''].filter(Boolean).join(' · ')}${p.rating === 'refused' ? html`<br><b>${p.why}</b>` : nothing}</p>` : nothing}
    ${list.map((/** @type {any} */ f) => html`<p><b>${tr(f.name || f.sort)}</b> ${[f.width ? shown(f.width, 'mm') + (f.depth ? ' x ' + shown(f.depth, 'mm') : '') : '', f.length ? shown(f.length, 'm') : '', f.count ? t`${f.count} rivets` : '', tr(f.plan)].filter(Boolean).join(' · ')}
      ${fact(p, f)}</p>`)}`;
}

/** What the core makes of one measure: both ways of laying, and what to do.
 * @param {any} p @param {any} f */
function fact(p, f) {
  const x = (p.facts ?? []).find((/** @type {any} */ y) => y.id === f.id);
  if (!x?.bridged) return nothing;
  return html`<br>${stretchWord.bridged} ${x.bridged}${x.floor ? `, ${stretchWord.floor} ${x.floor}` : ''}. <b>${x.verdict}</b>
    ${[x.near ? stretchWord.near : '', x.primer ? stretchWord.primer(x.primer) : '', x.look ? stretchWord.look : ''].filter(Boolean).join(' ')}`;
}

/** The steps that are ticked panel by panel and have not been laid behind yet.
 * @param {any} view @param {any} p @returns {any[]} */
function panelTicks(view, p) {
  const open = (view.stages ?? []).filter((/** @type {any} */ s) => s.per === 'panel').map((/** @type {any} */ s) => {
    const g = (s.gates ?? []).find((/** @type {any} */ x) => x.panel === p.id);
    return { stage: s.key, name: s.name, state: g?.state, go: g?.state === 'open' };
  }).filter((/** @type {any} */ x) => x.state === 'open');
  const own = p.gate;
  if (own?.state === 'open' && own.panel === p.id && !open.some((/** @type {any} */ x) => x.stage === own.stage)) open.push({ ...own, go: true });
  return open;
}

/** @param {Promise<boolean>} writing */
async function done(writing) {
  if (await writing) closeSheet();
}
