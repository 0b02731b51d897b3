// @ts-check
// The care sheet in the driver's language, under which he signs.

import { html, nothing } from '../vendor/lit-html.js';
import { marks } from '../marks.js';
import { job, now, paint } from './app.js';

/** @type {[string, string][]} */
const languages = [['en', 'English'], ['es', 'Español']];

const language = () => localStorage.getItem('care') ?? 'en';

/** @param {any} view @returns {string[]} */
export const careLines = (view) => (view.care ?? []).map((/** @type {any} */ c) => marks(c[language()] ?? c.en, view.shop, now(view)));

export const careChoice = () => (job()?.care?.length ? html`<div class="choice tight" role="group" aria-label="Language of the care sheet">${languages.map(([key, word]) => html`
  <button type="button" class="press" lang=${key} aria-pressed=${language() === key} data-testid="care-${key}" @click=${() => { localStorage.setItem('care', key); paint(); }}>${word}</button>`)}</div>` : nothing);
