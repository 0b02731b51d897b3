// @ts-check
// Escape closes a sheet. A press of Enter does one thing, however long it is held:
// when it closes a sheet, the focus goes back to the button that opened it while the
// key is still down, and what the rest of the press does there is nobody's wish.

import { app, closeSheet } from './app.js';
import { typedKey } from './pad.js';

/** The press that is down has done its thing. */
let spent = false;

/** @param {KeyboardEvent} e */
function down(e) {
  if (e.key === 'Enter' && (spent || e.repeat) && !(e.target instanceof HTMLTextAreaElement)) return e.preventDefault();
  spent = false;
  if (e.key === 'Escape' && app.sheet && !e.isComposing) {
    e.preventDefault();
    closeSheet();
  }
  if (app.sheet?.name === 'pad' || app.sheet?.ok) spent = typedKey(e, app.sheet);
}

export function listen() {
  addEventListener('keydown', down);
  addEventListener('keypress', (e) => { if (spent) e.preventDefault(); });
  addEventListener('keyup', () => { spent = false; });
}
