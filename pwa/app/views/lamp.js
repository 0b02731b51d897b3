// @ts-check
// The phone's lamp, for a sill in the dark: held low from the side it shows
// water, dust and chips. Only a camera's track can light it, so the browser
// asks for the camera once. Where there is none to be lit, nothing is offered.

import { html, nothing } from '../tongue.js';
import { paint } from './app.js';
import { refuse } from './acts.js';
import { shape } from './shapes.js';
import { lampWord } from './words.js';

const NONE = 'no-lamp';

/** The camera that lights it. @type {MediaStream | null} */
let lit = null;

const offered = () => !localStorage.getItem(NONE) && matchMedia('(pointer: coarse)').matches &&
  !!(/** @type {any} */ (navigator.mediaDevices?.getSupportedConstraints?.())?.torch);

export const lampButton = () => (offered() ? html`<button type="button" class="press" data-testid="lamp" aria-pressed=${!!lit}
  @click=${lit ? off : on}>${shape('lamp')}<span>${lampWord.title}</span></button>` : nothing);

async function on() {
  try {
    const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } });
    const [track] = stream.getVideoTracks();
    if (!(/** @type {any} */ (track.getCapabilities?.())?.torch)) {
      track.stop();
      localStorage.setItem(NONE, '1');
      return refuse(lampWord.none);
    }
    await track.applyConstraints({ advanced: [/** @type {any} */ ({ torch: true })] });
    lit = stream;
    paint();
  } catch (error) {
    refuse(/** @type {any} */ (error)?.name === 'NotAllowedError' ? lampWord.notAllowed : lampWord.none);
  }
}

/** The camera is given back, and the lamp with it. */
function off() {
  for (const track of lit?.getTracks() ?? []) track.stop();
  lit = null;
  paint();
}

document.addEventListener('visibilitychange', () => { if (document.hidden && lit) off(); });
