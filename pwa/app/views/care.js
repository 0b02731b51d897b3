// @ts-check
// The care sheet in the driver's language, under which he signs. When what is
// allowed comes from the core; the words stand here. Common practice, no
// source; the film maker's sheet wins.

import { html, nothing } from '../tongue.js';
import { job, paint } from './app.js';

/** @type {[string, string][]} */
const languages = [['en', 'English'], ['es', 'Español']];

/** Which tongue the one who signs for the vehicle reads. */
export const language = () => localStorage.getItem('care') ?? document.documentElement.lang;

/** For each row of the core's table its line; {1} is from when, {2} from when
 * it is better. @type {Record<string, Record<string, string>>} */
const dated = {
  rain: { en: 'Keep it from rain and frost until {1}.', es: 'Sin lluvia ni helada hasta el {1}.' },
  'hand-wash': { en: 'Wash by hand from {1}.', es: 'Lavar a mano desde el {1}.' },
  'jet-wash': { en: 'Pressure wash from {1}, better {2}: 300 mm off, not at edges.', es: 'Agua a presión desde el {1}, mejor el {2}: a 300 mm, no en los bordes.' },
  'brush-wash': { en: 'No brush wash: it ends the guarantee.', es: 'Sin cepillos de lavado: se pierde la garantía.' },
  'call-back': { en: 'We call you from {1}.', es: 'Le llamamos desde el {1}.' },
};

/** @type {Record<string, string[]>} */
const always = {
  en: ['Wipe off fuel at once, bird dirt within a day.', 'No strong solvents. Do not scrape ice.', 'Tell us of a lifting edge within two weeks.'],
  es: ['Limpie el combustible enseguida, los excrementos en un día.', 'Sin solventes fuertes. No raspe el hielo.', 'Avise en dos semanas si se levanta un borde.'],
};

/** The sheet's lines in the language that was touched. @param {any} view @returns {string[]} */
export function careLines(view) {
  if (!view.care?.length) return [];
  const speak = language(), day = new Intl.DateTimeFormat(speak, { weekday: 'short', day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit', hourCycle: 'h23', timeZone: view.shop?.zone || undefined });
  return [...view.care.flatMap((/** @type {any} */ c) => dated[c.key]?.[speak].replace('{1}', day.format(c.from)).replace('{2}', day.format(c.better)) ?? []), ...always[speak]];
}

export const careChoice = () => (job()?.care?.length ? html`<div class="choice tight" role="group" aria-label="Language of the care sheet">${languages.map(([key, word]) => html`
  <button type="button" class="press" lang=${key} aria-pressed=${language() === key} data-testid="care-${key}" @click=${() => { localStorage.setItem('care', key); paint(); }}>${word}</button>`)}</div>` : nothing);
