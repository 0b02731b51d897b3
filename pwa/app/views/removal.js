// @ts-check
// What the trial strips make one expect of a removal, asked of the shop server:
// an estimate for who plans and promises. No step waits for it.

import { html, nothing } from '../tongue.js';
import { paint } from './app.js';
import { told } from './lead.js';
import { removalWord } from './words.js';

/** What the server said, by vehicle; asked again when a line came.
 * @type {Map<string, {of: string, says: string[]}>} */
const known = new Map();

/** @param {any} view the job */
export function removal(view) {
  if (view.closed || !['trial-strips', 'removal-risk', 'pull'].includes(view.gate?.stage)) return nothing;
  const last = view.lines?.[0], of = last ? [last.writer, last.seq, last.where].join() : '', k = known.get(view.id);
  if (k?.of !== of) {
    known.set(view.id, { of, says: k?.says ?? [] });
    fetch('/removal/' + view.id).then(async (r) => {
      if (!r.ok) return;
      known.set(view.id, { of, says: (await r.json()).says });
      paint();
    }).catch(() => {}); // without the shop server the last estimate stands
  }
  const says = known.get(view.id)?.says ?? [];
  return says.length ? html`<section class="lap stack" aria-labelledby="removal-title" data-testid="removal"><h2 id="removal-title">${removalWord.title}</h2>
    ${says.map((s) => html`<p>${told(s)}</p>`)}<p class="small quiet">${removalWord.rough}</p></section>` : nothing;
}
