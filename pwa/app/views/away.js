// @ts-check
// What ended while nobody looked. No page can ring while the phone sleeps, so
// the first screen on return says it: 'Drying V2 ended 6 min ago'.

import { html, nothing, t } from '../tongue.js';
import { hours } from '../marks.js';
import { app, home, now, paint } from './app.js';

const KEY = 'awaited';

/** Waiting clocks of the home view, kept for the return even if the page is
 * thrown away meanwhile. @returns {{id: string, label: string, name: string, until: number}[]} */
const read = () => { try { return JSON.parse(localStorage.getItem(KEY) || '[]'); } catch { return []; } };

/** Called as the page hides. */
export function leaving() {
  const waits = (home()?.jobs ?? []).filter((/** @type {any} */ j) => j.gate?.state === 'waits' && j.gate.until)
    .map((/** @type {any} */ j) => ({ id: j.id, label: j.label, name: j.gate.name, until: j.gate.until }));
  localStorage.setItem(KEY, JSON.stringify(waits));
}

/** Called when the page is seen again and a view has come. The clock alone
 * ends nothing: only what the core now calls open is told as ended. */
export function returned() {
  const view = home();
  const kept = read();
  if (!view || !kept.length || document.hidden) return;
  localStorage.removeItem(KEY);
  const at = now(view);
  app.away = kept.filter((k) => k.until <= at && view.jobs.find((/** @type {any} */ j) => j.id === k.id)?.gate?.state === 'open')
    .map((k) => t`${k.label}: ${k.name}, wait ended ${hours(at - k.until)} ago.`);
  if (app.away.length) paint();
}

export function away() {
  if (!app.away.length) return nothing;
  return html`<div class="away" role="status" data-testid="away"><div class="grow">${app.away.map((t) => html`<p>${t}</p>`)}</div>
    <button type="button" class="press" @click=${() => { app.away = []; paint(); }}>Seen</button></div>`;
}
