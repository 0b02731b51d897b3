// @ts-check
// A signature drawn with a finger under what was shown. A hand that cannot
// draw signs by its typed name alone.

import { html, inTongue, nothing, t, tr } from '../tongue.js';
import { app, closeSheet, job, openSheet, paint } from './app.js';
import { ofJob, refuse, write } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';
import { findingName, signedAs, walkOf } from './inspection.js';
import { pen, strokesOf, wipe } from './pen.js';
import { careChoice, careLines, language } from './care.js';
import { findingAnswer, papers, riskOf, signerWord, walkWord } from './words.js';

/** What the signer reads, line by line; its hash goes under the signature. @param {any} view @param {string} what */
function shown(view, what) {
  const vehicle = [view.label, view.customer, tr(view.vehicle), view.plate].filter(Boolean).join(', ');
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
  const reads = s.what === 'hand-over' ? language() : document.documentElement.lang;
  const lines = inTongue(reads, () => shown(view, s.what), paint), step = (view.stages ?? []).find((/** @type {any} */ x) => (x.what || x.key) === s.what);
  const what = step?.name ?? (papers[s.what] ? t`own risk` : walkWord['seen-' + walkOf(view)]), who = signerWord[s.as];
  return sheet(what.toLowerCase().includes(who.toLowerCase()) ? what : t`${who} signs: ${what.toLowerCase()}`, html`
    ${s.what === 'hand-over' ? careChoice() : nothing}
    <ul class="shown" lang=${reads}>${lines.map((l) => html`<li>${l}</li>`)}</ul>
    <label class="field"><span>Name</span><input data-testid="sign-name" autocomplete="off" .value=${s.signer} @input=${(/** @type {any} */ e) => { s.signer = e.target.value; paint(); }}></label>
    ${s.signer ? nothing : html`<div class="row wrap">${before(view, s.as).map((name) => html`<button type="button" class="press" data-testid="sign-as:${name}" @click=${() => { s.signer = name; paint(); }}>${name}</button>`)}</div>`}
    ${s.phone ? html`<p class="quiet">Signed by phone: read the lines aloud, and the name is written with 'by phone'.</p>` : html`<p><b>Signature, with a finger</b></p>
    <div class="pen"><canvas width="640" height="240" data-testid="sign-canvas" role="img" aria-label="Sign here with a finger; the name alone will do"
      @pointerdown=${(/** @type {PointerEvent} */ e) => pen(e, s)} @pointermove=${(/** @type {PointerEvent} */ e) => pen(e, s)}
      @pointerup=${(/** @type {PointerEvent} */ e) => pen(e, s)} @pointercancel=${(/** @type {PointerEvent} */ e) => pen(e, s)}></canvas></div>`}
    ${refusal(app.refused)}
    <div class="acts"><button type="button" class="act" @click=${() => wipe(s, document.querySelector('#sheet canvas'))}>Again</button>
      <button type="button" class="act go" data-testid="sign-save" @click=${() => save(s, view, lines)}>Sign</button></div>
    ${owner && !papers[s.what] ? html`<button type="button" class="press wide" @click=${() => openSheet('absent')}>${walkWord.absent}</button>` : nothing}`);
}

/** @param {any} s @param {any} view @param {string[]} lines */
async function save(s, view, lines) {
  const name = s.signer.trim();
  if (!name) return refuse(t`Type the name of who signs.`);
  const body = { what: s.what, as: s.as, name: s.phone ? name + ', by phone' : name, strokes: strokesOf(s.strokes), shown: await hash(lines.join('\n')) };
  if (await write({ log: ofJob(view.id), kind: 'sign', body }, t`Signed: ${name}.`)) {
    const rest = s.as === 'installer' ? owing(view, s.what) : [];
    if (!rest.length) return closeSheet();
    wipe(s, document.querySelector('#sheet canvas'));
    openSheet('sign', { as: rest[0], what: s.what }); // the phone goes from hand to hand
    document.getElementById('sheet-title')?.focus();
  }
}

/** Who signed on this vehicle before, by name: touched instead of typed. @param {any} view @param {string} as @returns {string[]} */
const before = (view, as) => [...new Set((view.signatures ?? []).filter((/** @type {any} */ x) => x.as === as).map((/** @type {any} */ x) => x.name.replace(/, by phone$/, '')))];

/** Whose signature a step still lacks beside the installer's. @param {any} view @param {string} what @returns {string[]} */
const owing = (view, what) => ((view.stages ?? []).find((/** @type {any} */ x) => (x.what || x.key) === what)?.signers ?? [])
  .filter((/** @type {string} */ as) => as !== 'installer' && !(view.signatures ?? []).some((/** @type {any} */ x) => x.as === as && (x.what || 'inspection') === what));

/** SHA-256 in hex, or nothing where the browser gives none (plain http on a LAN). @param {string} text */
async function hash(text) {
  if (!globalThis.crypto?.subtle) return '';
  const sum = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text));
  return [...new Uint8Array(sum)].map((b) => b.toString(16).padStart(2, '0')).join('');
}
