// @ts-check
// What this phone may not write for who is tapped, as the core says it: that is
// not offered as if it would count. A lead on a phone of the crew's types the PIN
// first, which the shop's server looks at; then the acts count for some minutes.

import { html, nothing, sentence, t, words } from '../tongue.js';
import { app, closeSheet, home, openSheet, paint } from './app.js';
import { noted, refuse } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';
import { shape } from './shapes.js';

/** Whom to ask, by who may write it as the core names them. */
const ask = words({
  'the lead': 'Ask the lead.', 'the lead or the desk': 'Ask the lead or the desk.', 'the lead or crew': 'Ask the lead or an installer.',
  'the lead, crew, prep or the porter': 'Ask a hand of the crew.',
});

/** Who may write a kind of line instead; '' where the PIN would do, undefined
 * where nothing is in the way. @param {string} kind @returns {string | undefined} */
export const barred = (kind) => home()?.cannot?.[kind];

/** What a line needs said before it is written, if anything. @param {string} kind */
export function needs(kind) {
  const who = barred(kind);
  if (who === undefined) return nothing;
  const say = who ? /** @type {any} */ (ask)[who] ?? ask['the lead'] : home()?.net?.online ? t`Needs the lead's PIN on this phone.` : t`Needs the lead's PIN. The shop is out of reach.`;
  return html`<p class="needs" data-testid="needs:${kind}">${shape('held')}<span>${say}</span></p>`;
}

/** What is offered where somebody may write that kind of line, by the PIN if need
 * be; elsewhere who to ask. @param {string} kind @param {() => unknown} what */
export const offered = (kind, what) => (barred(kind) ? needs(kind) : html`${needs(kind)}${what()}`);

/** The PIN is wanted first: then what waited goes on. @param {() => unknown} then */
export const pinFirst = (then) => openSheet('pin', { then });

/** @param {any} s */
export function pinSheet(s) {
  const me = home()?.me;
  s.pin ??= '';
  s.ok = () => open(s);
  return sheet(t`PIN of ${me?.name ?? ''}`, html`
    ${home()?.net?.online ? html`<p>Then your acts as lead count from this phone for 5 minutes.</p>`
      : html`<p class="fact">The shop is out of reach.</p><p>Only its server can look at the PIN. Or use your own phone.</p>`}
    <label class="field"><span>PIN</span><input type="password" inputmode="numeric" autocomplete="off" maxlength="8" class="pin" data-testid="pin" .value=${s.pin} ?disabled=${s.asking}
      @input=${(/** @type {any} */ e) => { s.pin = e.target.value; }} @keydown=${(/** @type {any} */ e) => { if (e.key === 'Enter') open(s); }}></label>
    ${refusal(app.refused)}
    <div class="acts"><button type="button" class="act go" data-testid="pin-go" ?disabled=${s.asking} @click=${() => open(s)}>Go on</button></div>`);
}

/** @param {any} s */
async function open(s) {
  const view = home(), person = view?.me?.id;
  if (s.asking || !person) return;
  if (!s.pin) return refuse(t`Type the PIN first.`);
  s.asking = true;
  app.refused = '';
  paint();
  try {
    const response = await fetch('/pin/use', { method: 'POST', body: JSON.stringify({ person, pin: s.pin }) });
    if (!response.ok) return refuse(sentence((await response.text()).trim()));
    await app.shop.ask('pin', await response.json());
  } catch {
    return refuse(t`The shop is out of reach. The PIN needs its server.`);
  } finally {
    s.asking = false;
    s.pin = '';
    paint();
  }
  if (app.sheet === s) closeSheet();
  for (const kind of Object.keys(view.cannot ?? {})) if (!view.cannot[kind]) delete view.cannot[kind]; // the worker knows already; its view is on the way
  noted(t`Your acts count from here for 5 minutes.`, undefined, undefined, 4000);
  s.then();
}
