// @ts-check
// Panels that are flat, said of several in one act: each is touched, or all of
// them, and each gets a line of its own. What such a panel often has is told
// beside it, for who says 'flat' of it says that it is not there.

import { html, t, tr } from '../tongue.js';
import { app, closeSheet, job, paint } from './app.js';
import { ofJob, write } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';
import { usual } from './vehicles.js';

/** The panels of which nobody has said yet how they are formed. @param {any} view @returns {any[]} */
export function unmeasured(view) {
  const open = (view.stages ?? []).filter((/** @type {any} */ s) => s.proof === 'survey').flatMap((/** @type {any} */ s) => s.gates ?? []).filter((/** @type {any} */ g) => g.state !== 'done').map((/** @type {any} */ g) => g.panel);
  return (view.panels ?? []).filter((/** @type {any} */ p) => open.includes(p.id));
}

/** @param {any} s */
export function flatsSheet(s) {
  const view = job(), list = unmeasured(view), on = (s.on ??= []), every = list.every((p) => on.includes(p.id));
  const touch = (/** @type {string[]} */ to) => { s.on = to; paint(); };
  return sheet(t`Which are flat?`, html`${refusal(app.refused)}
    <div class="acts"><button type="button" class="act go" ?disabled=${!on.length} data-testid="flats-save" @click=${() => save(view, on)}>Write it down</button></div>
    <div class="choice glove" role="group" aria-label="Panels"><button type="button" class="press" aria-pressed=${every} data-testid="flats-all" @click=${() => touch(every ? [] : list.map((p) => p.id))}>All of these</button>
      ${list.map((p) => html`<button type="button" class="press" aria-pressed=${on.includes(p.id)} data-testid="flat:${p.id}" @click=${() => touch(on.includes(p.id) ? on.filter((/** @type {string} */ x) => x !== p.id) : [...on, p.id])}>
        <span class="hang">${view.panels.indexOf(p) + 1}</span> <span>${p.name}${usual(view.vehicle, p.id).map((u) => html`<br><span class="small">${t`${tr(u.name)}, often here`}</span>`)}</span></button>`)}</div>`);
}

/** @param {any} view @param {string[]} panels */
async function save(view, panels) {
  const bodies = panels.map((panel) => ({ panel, id: 'flat-1', sort: 'flat' }));
  if (await write({ log: ofJob(view.id), kind: 'feature', body: bodies[0], bodies }, t`Noted: ${panels.length} panels are flat.`)) closeSheet();
}
