// Stands in for the page's door to the worker in the screenshot tests: the
// invented views of samples.js, and answers that store nothing.
// ?net=off makes the phone one without signal; ?shop=none one without a shop;
// ?me=none one where nobody was tapped, ?me=desk where somebody of the desk was; ?refuse one that refuses every line;
// ?share a browser with the sharing sign; ?offer one that offers to install;
// ?shared a phone of the crew's, with a lead tapped; ?moved one whose shop has left its
// address;
// ?camera one that closed the page under the camera; ?gun one that closed it
// under a gun.
import * as samples from '/app/samples.js';
import * as moments from '/app/moments.js';

const asked = new URLSearchParams(location.search);

if (asked.has('share')) /** @type {any} */ (navigator).standalone = false;
if (asked.has('offer')) setTimeout(() => dispatchEvent(new Event('beforeinstallprompt')));

export function connect() {
  const listeners = { view: [], fault: [] };
  let seq = 30, tapped = '';
  const dress = (view) => {
    if (asked.get('net') === 'off') view.net = { online: false, since: samples.NOW - 68 * 60_000, waiting: 3 };
    if (asked.get('shop') === 'none') Object.assign(view, { shop: { name: '', units: 'C', zone: '', set: false }, jobs: [], places: [], people: [], me: null });
    if (asked.get('me') === 'none') view.me = null;
    if (asked.get('me') === 'desk') view.me = view.people?.find((p) => p.role === 'desk') ?? { ...view.me, role: 'desk' };
    if (tapped) view.me = view.people?.find((p) => p.id === tapped) ?? view.me;
    if (asked.has('shared')) Object.assign(view, { me: view.people?.find((p) => p.role === 'lead') ?? view.me, cannot: { 'shop.set': '', 'place.add': '', 'person.add': 'the lead' } });
    if (asked.has('moved')) view.net = { ...view.net, online: true, moved: 'https://shop.local:8443' };
    return view;
  };
  const send = (name, id) => {
    if (name === 'job' && id === 'none') return;
    const view = name === 'job' ? moments.job(id) : (samples[name] ?? moments[name])();
    for (const fn of listeners.view) fn({ name, id, view: dress(view), stale: false });
  };
  globalThis.asked = []; // what the page asked, for tests to look at
  globalThis.told = 0; // how often it said that it draws
  return {
    on(event, fn) { listeners[event]?.push(fn); return () => {}; },
    writing: () => false,
    drawing: () => { globalThis.told++; },
    async ask(type, args) {
      globalThis.asked.push({ type, args });
      switch (type) {
        case 'view': setTimeout(() => send(args.name, args.id)); return {};
        case 'write': return asked.has('refuse') ? { refused: 'This phone is full: the line is not stored. Delete something on it, then tap again.' } : { ok: true, id: { writer: 'w', seq: ++seq }, ids: args.lines?.map((/** @type {any} */ _, /** @type {number} */ i) => ({ writer: 'w', seq: seq + i })), log: (args.lines?.[0] ?? args).log };
        case 'me': tapped = args.person; setTimeout(() => send('home', '')); return { ok: true };
        case 'newJob': return { ok: true, id: 'job-V5' };
        case 'photo': return { sha: 'ab'.repeat(32) };
        case 'photoURL': return null;
        case 'status': return { online: false, waiting: 3, photosWaiting: 1, stored: 1_240_000, persisted: false };
        case 'here': return [{ name: 'V5', lines: 2, photos: 1, voices: 1, texts: ['Wash done', 'rear left sill ⟨c:7600⟩'] }, { name: 'Bay 4', lines: 1, photos: 0, voices: 0, texts: [] }];
        case 'draft':
          if (args.get && asked.has('gun') && args.name === 'pace:job-heat') return { job: 'job-heat', panel: 'left-rear', name: '', total: 2_600_000, per: 2500, ran: 60_000, since: 0, films: [], rivets: 0, guns: 1 };
          return args.get && args.name === 'photo' && asked.has('camera') ? { job: 'job-V5', panel: '', at: Date.now() } : null;
        case 'id': return crypto.randomUUID();
      }
      return { ok: true };
    },
  };
}
