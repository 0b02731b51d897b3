// @ts-check
// Joining a shop. It takes the shop in reach, so this is fetched from it when
// somebody goes there.

import { html, t } from '../tongue.js';
import { app, home, paint } from './app.js';
import { noted, refuse } from './acts.js';
import { refusal } from './dock.js';
import { netMark } from './net.js';

const form = { code: '', name: '' };
let asking = false;

/** #/join/TOKEN from the picture, #/join to type the code. */
export function joinScreen() {
  const token = app.route.name === 'join' ? app.route.id : '';
  return html`
    <header class="top"><h1 tabindex="-1">Join the shop</h1>${netMark(home())}</header>
    <main class="screen narrow" data-testid="join"><section class="lap stack">
      ${refusal(app.refused)}
      ${token ? html`<p class="fact">${t`This phone joins ${location.hostname}.`}</p>`
        : html`<p class="fact">This phone has not joined this shop yet.</p><p>The lead's phone shows a picture to scan, and a code.</p><p>The first phone finds both in the shop server's window.</p>
          <label class="field"><span>Code</span><input data-testid="join-code" autocomplete="off" autocapitalize="characters" .value=${form.code} @input=${(/** @type {any} */ e) => { form.code = e.target.value; }}></label>`}
      <label class="field"><span>Name of this phone, such as: bay phone 2</span><input data-testid="join-name" autocomplete="off" maxlength="40" .value=${form.name} @input=${(/** @type {any} */ e) => { form.name = e.target.value; }}></label>
      <button type="button" class="press go wide" data-testid="join-go" ?disabled=${asking} @click=${() => joinNow(token)}>Join</button>
      <p class="small quiet">On an iPhone put the app on the home screen first, and type the code there: it shares nothing with the browser.</p>
    </section></main>`;
}

/** @param {string} token */
async function joinNow(token) {
  if (!token && !form.code.trim()) return refuse(t`Type the code that the lead shows.`);
  asking = true;
  app.refused = '';
  paint();
  try {
    const answer = await app.shop.ask('join', { token, code: token ? '' : form.code, name: form.name });
    if (answer.refused) return refuse(answer.refused);
    form.code = '';
    location.replace('#/'); // the picture's word is used: it leaves the address
    noted(t`This phone belongs to the shop.`);
  } catch {
    refuse(t`The shop is out of reach. Go where its wifi reaches, and tap again.`);
  } finally {
    asking = false;
    paint();
  }
}
