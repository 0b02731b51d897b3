// @ts-check
// A signature drawn with a finger under what was shown. A hand that cannot
// draw signs by its typed name alone.

import { html, nothing, t, tr } from '../tongue.js';
import { app, closeSheet, job, openSheet } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';
import { findingName, signedAs, walkOf } from './inspection.js';
import { careChoice, careLines } from './care.js';
import { findingAnswer, papers, riskOf, signerWord, walkWord } from './words.js';

/** Lifts the pen between two strokes. */
const LIFT = 0x7fff;

/** What the signer reads, line by line; its hash goes under the signature. @param {any} view @param {string} what */
function shown(view, what) {
  const vehicle = `${view.label}, ${view.customer}, ${tr(view.vehicle)}${view.plate ? ', ' + view.plate : ''}`;
  if (papers[what]) return [vehicle, ...papers[what]];
  const found = (view.findings ?? []).map((/** @type {any} */ f) =>
    `${findingName(view, f)}: ${findingAnswer[f.answer || ''] ?? f.answer}.${riskOf[f.what] && f.answer !== 'repaired' ? ' ' + riskOf[f.what] : ''}`);
  return [vehicle, ...(found.length ? found : [t`No damage written down.`]), ...(what === 'hand-over' ? careLines(view) : [])];
}

/** @param {any} s */
export function signSheet(s) {
  const view = job();
  const owner = s.as === 'owner';
  s.what ??= signedAs(walkOf(view));
  s.strokes ??= [];
  s.signer ??= s.as === 'installer' ? view.me?.name ?? '' : '';
  const lines = shown(view, s.what), step = (view.stages ?? []).find((/** @type {any} */ x) => (x.what || x.key) === s.what);
  return sheet(t`${signerWord[s.as]} signs: ${(step?.name ?? (papers[s.what] ? t`own risk` : walkWord['seen-' + walkOf(view)])).toLowerCase()}`, html`
    ${s.what === 'hand-over' ? careChoice() : nothing}
    <ul class="shown">${lines.map((l) => html`<li>${l}</li>`)}</ul>
    <label class="field"><span>Name</span><input data-testid="sign-name" autocomplete="off" .value=${s.signer} @input=${(/** @type {any} */ e) => { s.signer = e.target.value; }}></label>
    ${s.phone ? html`<p class="quiet">Signed by phone: read the lines aloud, and the name is written with 'by phone'.</p>` : html`<p><b>Signature, with a finger</b></p>
    <div class="pen"><canvas width="640" height="240" data-testid="sign-canvas" role="img" aria-label="Sign here with a finger; the name alone will do"
      @pointerdown=${(/** @type {PointerEvent} */ e) => pen(e, s)} @pointermove=${(/** @type {PointerEvent} */ e) => pen(e, s)}
      @pointerup=${(/** @type {PointerEvent} */ e) => pen(e, s)} @pointercancel=${(/** @type {PointerEvent} */ e) => pen(e, s)}></canvas></div>`}
    ${refusal(app.refused)}
    <div class="acts"><button type="button" class="act" @click=${() => wipe(s)}>Again</button>
      <button type="button" class="act go" data-testid="sign-save" @click=${() => save(s, view, lines)}>Sign</button></div>
    ${owner && !papers[s.what] ? html`<button type="button" class="press wide" @click=${() => openSheet('absent')}>${walkWord.absent}</button>` : nothing}`);
}

/** @param {PointerEvent} e @param {any} s */
function pen(e, s) {
  const canvas = /** @type {HTMLCanvasElement} */ (e.currentTarget);
  if (e.type === 'pointermove' && !s.down) return;
  const box = canvas.getBoundingClientRect();
  const x = Math.round(((e.clientX - box.left) / box.width) * canvas.width);
  const y = Math.round(((e.clientY - box.top) / box.height) * canvas.height);
  const c = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
  c.strokeStyle = getComputedStyle(canvas).color;
  c.lineWidth = 5;
  c.lineCap = c.lineJoin = 'round';
  if (e.type === 'pointerdown') {
    s.down = [x, y];
    canvas.setPointerCapture(e.pointerId);
  }
  if (e.type === 'pointerup' || e.type === 'pointercancel') {
    s.down = null;
    s.strokes.push(LIFT, LIFT);
    return;
  }
  c.beginPath();
  c.moveTo(s.down[0], s.down[1]);
  c.lineTo(x + 0.1, y);
  c.stroke();
  s.down = [x, y];
  s.strokes.push(x, y);
  e.preventDefault();
}

/** @param {any} s */
function wipe(s) {
  s.strokes = [];
  const canvas = /** @type {HTMLCanvasElement | null} */ (document.querySelector('#sheet canvas'));
  canvas?.getContext('2d')?.clearRect(0, 0, canvas.width, canvas.height);
}

/** @param {any} s @param {any} view @param {string[]} lines */
async function save(s, view, lines) {
  const name = s.signer.trim();
  if (!name) return refuse(t`Type the name of who signs.`);
  const points = new Int16Array(s.strokes.slice(0, 4000));
  const strokes = new Uint8Array(points.length * 2);
  const out = new DataView(strokes.buffer);
  points.forEach((p, i) => out.setInt16(i * 2, p)); // big-endian on every phone
  const body = { what: s.what, as: s.as, name: s.phone ? name + ', by phone' : name, strokes, shown: await hash(lines.join('\n')) };
  if (await write({ log: ofJob(view.id), kind: 'sign', body }, t`Signed: ${name}.`)) closeSheet();
}

/** SHA-256 in hex, or nothing where the browser gives none (plain http on a LAN). @param {string} text */
async function hash(text) {
  if (!globalThis.crypto?.subtle) return '';
  const sum = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text));
  return [...new Uint8Array(sum)].map((b) => b.toString(16).padStart(2, '0')).join('');
}
