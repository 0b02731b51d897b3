// @ts-check
// The camera. Before it opens, what the photo is for is stored on the phone:
// the phone may throw this page away meanwhile and bring it back empty.

import { html, nothing, sentence, t } from '../tongue.js';
import { app, go, paint } from './app.js';
import { noted, refuse } from './acts.js';
import { shape } from './shapes.js';

/** @param {any} view the job @param {string} panel @param {(sha: string) => void} [took] @param {string} [word] */
export const photoButton = (view, panel, took, word = t`Photo`) => html`<label class="press">${shape('camera')}<span>${word}</span>
  <input class="unseen" type="file" accept="image/*" capture="environment" data-testid=${took ? 'photo-asked' : 'photo-input'}
    @click=${() => remember(view.id, panel)} @cancel=${() => { under = false; }} @change=${(/** @type {Event} */ e) => take(e, view.id, panel, took)}></label>`;

/** Whether the camera lies over the page, which waits for its picture. */
let under = false;
export const cameraOpen = () => under;
addEventListener('pointerdown', () => { under = false; }, { capture: true }); // back, where nothing says so

/** @param {string} job @param {string} panel */
const remember = (job, panel) => { under = true; app.shop.ask('draft', { name: 'photo', set: { job, panel, at: Date.now() } }).catch(() => {}); };

const forget = () => { under = false; return app.shop.ask('draft', { name: 'photo' }).catch(() => {}); };

/** How long a page that was thrown away under the camera comes back to it. */
const RECENT = 10 * 60_000;

/** At the start: if the camera took this page away, back to where it was. */
export async function resume() {
  const draft = await app.shop.ask('draft', { name: 'photo', get: true }).catch(() => null);
  if (!draft?.job || Math.abs(Date.now() - draft.at) > RECENT) return;
  forget();
  if (app.route.name === 'home' || app.route.id === draft.job) {
    go('#/job/' + draft.job);
    noted(t`The phone closed the page under the camera. Take the photo again.`, undefined, undefined, RECENT);
  }
}

/** @param {Event} e @param {string} job @param {string} panel @param {(sha: string) => void} [took] */
async function take(e, job, panel, took) {
  const input = /** @type {HTMLInputElement} */ (e.target);
  const file = input.files?.[0];
  if (!file) return;
  forget();
  input.value = '';
  try {
    const blob = await file.arrayBuffer();
    const answer = await app.shop.ask('photo', { job, panel, blob, finding: !!took }, [blob]);
    if (answer?.refused) return refuse(answer.refused);
    took?.(answer.sha);
    noted(t`Photo on this phone. It goes to the shop by itself.`, answer.log, answer.id);
  } catch (error) {
    refuse(t`Photo not stored: ${sentence(String(error instanceof Error ? error.message : error))}`);
  }
}

/** Pictures already fetched from the worker's store. @type {Map<string, string>} */
const urls = new Map();

/** A small picture of a stored photo, and its frame while it comes. @param {string} sha @param {string} name */
export function picture(sha, name) {
  if (!sha) return nothing;
  const url = urls.get(sha);
  if (url === undefined) {
    urls.set(sha, '');
    app.shop.ask('photoURL', { sha }).then((/** @type {ArrayBuffer | null} */ bytes) => {
      if (bytes) { urls.set(sha, URL.createObjectURL(new Blob([bytes]))); paint(); }
    }, () => {});
  }
  return html`<span class="picture">${url ? html`<img src=${url} alt="Photo: ${name}" width="64" height="64">` : html`<span class="small quiet">photo</span>`}</span>`;
}
