// @ts-check
// What is only on this phone, vehicle by vehicle, in the words that a person
// knows it by. What has no name here is named by its logbook's kind on screen.

/** @typedef {{name: string, kind: string, lines: number, photos: number, voices: number, texts: (string | {typed: string})[]}} Held */

/** @param {import('./phone.js').Phone} phone @returns {Promise<Held[]>} */
export async function onlyHere(phone) {
  /** @type {Map<string, Held>} */
  const held = new Map();
  const of = (/** @type {string} */ log) => {
    const h = held.get(log) ?? { name: '', kind: '', lines: 0, photos: 0, voices: 0, texts: [] };
    held.set(log, h);
    return h;
  };
  for (const { log } of await phone.store.outbox()) of(log).lines++;
  for (const { job, type } of await phone.store.photosOf()) of(`j:${job}`)[type.startsWith('audio/') ? 'voices' : 'photos']++;
  const places = view(phone, 'board', '')?.places ?? [];
  for (const [log, h] of held) {
    const [kind, id] = log.split(':');
    h.kind = kind;
    if (kind === 'p') h.name = places.find((/** @type {any} */ p) => p.id === id)?.name ?? '';
    if (kind !== 'j') continue;
    const job = view(phone, 'job', id);
    h.name = job?.label ?? '';
    h.texts = (job?.lines ?? []).filter((/** @type {any} */ l) => l.where === 'here').map((/** @type {any} */ l) => (l.kind === 'note' ? { typed: l.text } : l.text));
  }
  return [...held.values()];
}

/** @param {import('./phone.js').Phone} phone @param {string} name @param {string} id */
function view(phone, name, id) {
  const json = phone.complete ? phone.view(name, id) : '';
  return json ? JSON.parse(json) : null;
}
