// @ts-check
// How this phone joins a shop.

import { Refused } from './core.js';
import { base64 } from './member.js';

const KEY = 'member key', DEVICE = 'member device';

/** A key is stored before the shop hears of it: a phone that misses the answer
 * asks again with the same one, and is the same phone to the shop.
 * @param {import('./store.js').Store} store @param {{token: string, code: string, name: string}} ask
 * @returns {Promise<string>} whose phone it is, '' if nobody's alone */
export async function join(store, ask) {
  const had = await store.fact(KEY);
  const pair = had ?? (await crypto.subtle.generateKey({ name: 'ECDSA', namedCurve: 'P-256' }, false, ['sign']));
  if (!had) await store.keep('meta', KEY, pair, true);
  const key = base64(await crypto.subtle.exportKey('raw', pair.publicKey));
  const response = await fetch('/join', { method: 'POST', body: JSON.stringify({ ...ask, key }) });
  const text = await response.text();
  if (response.status === 410) { // the shop took that key off
    await store.keep('meta', KEY, undefined, true);
    return join(store, ask);
  }
  if (!response.ok) throw new Refused(text.trim(), false);
  const { device, person = '' } = JSON.parse(text);
  await store.keep('meta', DEVICE, device, true);
  return person;
}
