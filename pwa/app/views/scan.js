// @ts-check
// A code on a box or a roll, read by the camera where the browser can; where
// it cannot, no button is shown, and the field is typed.

import { html, nothing, t } from '../tongue.js';
import { refuse } from './acts.js';
import { shape } from './shapes.js';

const Detector = /** @type {any} */ (globalThis).BarcodeDetector;

/** @param {(code: string) => void} got */
export const scanButton = (got) => (Detector ? html`<label class="press">${shape('camera')}<span>Scan</span>
  <input class="unseen" type="file" accept="image/*" capture="environment" data-testid="scan" @change=${async (/** @type {any} */ e) => {
    const file = e.target.files?.[0];
    e.target.value = '';
    if (!file) return;
    try {
      const [code] = await new Detector().detect(await createImageBitmap(file));
      if (code) got(code.rawValue);
      else refuse(t`No code seen. Hold it flat, or type it.`);
    } catch {
      refuse(t`No code read. Type it.`);
    }
  }}></label>` : nothing);
