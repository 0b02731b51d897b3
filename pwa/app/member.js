// @ts-check
// This phone's proof that it belongs to the shop. Its key is made by join.js and
// never leaves the browser: not even this app can read it.

/** @param {ArrayBuffer} bytes */
export const base64 = (bytes) => btoa(String.fromCharCode(...new Uint8Array(bytes)));

/** Signs what the shop asked; undefined if this phone has not joined.
 * @param {import('./phone.js').Phone} phone @param {string} nonce */
export async function prove(phone, nonce) {
  const { 'member device': device, 'member key': key } = await phone.store.facts('member ');
  if (!device) return undefined;
  const said = new TextEncoder().encode(`bayhold proof 1\n${location.origin}\n${device}\n${nonce}\n`);
  const proof = base64(await crypto.subtle.sign({ name: 'ECDSA', hash: 'SHA-256' }, key.privateKey, said));
  return { device, proof, holds: phone.waiting + (await phone.store.photosLeft()) };
}
