// @ts-check
// A sheet laid over the page: focus stays in it, Escape and the phone's own way back
// close it, and focus goes back to where it came from.

import { html, render, nothing } from '../tongue.js';
import { app, closeSheet } from './app.js';
import { cover, uncover } from './behind.js';
import { shape } from './shapes.js';

/** The frame of every sheet. @param {unknown} title @param {unknown} inner @param {string} [testid] of the way out */
export const sheet = (title, inner, testid = 'sheet-close') => html`<div class="sheet">
  <header><h2 id="sheet-title" tabindex="-1" autofocus>${title}</h2>
    <button type="button" class="press plain" aria-label="Close" data-testid=${testid} @click=${closeSheet}>${shape('close')}</button></header>
  ${inner}</div>`;

/** What the dialog shows, and what is yet to be done in a task of its own. */
let shown = '', due = false, opening = false;

/** Paints the open sheet. What the tap drew, the sheet, and laying it over the page
 * are a task each.
 * @param {Record<string, (s: any) => unknown>} sheets */
export function paintSheet(sheets) {
  if (shown === (app.sheet?.name ?? '')) return change(sheets);
  if (due) return;
  due = true;
  setTimeout(() => { due = false; change(sheets); });
}

/** @param {Record<string, (s: any) => unknown>} sheets */
function change(sheets) {
  const dialog = /** @type {HTMLDialogElement} */ (document.getElementById('sheet'));
  dialog.onclose ??= () => { if (shown && !dialog.open && !opening) closeSheet(); }; // a phone's own way back; it comes late: the next sheet may be open, or about to be
  const s = app.sheet;
  if (!s) {
    dialog.close();
    if (shown) {
      uncover();
      render(nothing, dialog);
    }
    shown = '';
    return;
  }
  render(sheets[s.name](s), dialog);
  if (dialog.open && shown !== s.name) dialog.querySelector('h2')?.focus();
  shown = s.name;
  if (dialog.open || opening) return;
  opening = true;
  setTimeout(() => {
    opening = false;
    if (!shown || dialog.open) return;
    cover();
    dialog.show(); // which puts the focus on the title
  });
}
