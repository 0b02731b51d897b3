// @ts-check
// The worker: intents in, views out. Everything that a tap needs lives here,
// off the page's thread: the core, the store, the socket.

import { Refused } from './core.js';
import { Phone } from './phone.js';
import { Views } from './views.js';
import { Link } from './link.js';
import { Album } from './album.js';
import { Spare } from './spare.js';
import { join } from './join.js';
import { onlyHere } from './onlyhere.js';
import { uuid7 } from './ids.js';

const post = (/** @type {any} */ message) => self.postMessage(message);
/** @type {Phone} */
const phone = new Phone();
const views = new Views(phone, post);
const album = new Album(phone, () => views.soon());
const spare = new Spare(phone.store);
const caughtUp = () => {
  album.send();
  spare.ask();
};
const link = new Link(phone, connected, caughtUp, () => album.again());
link.alone = () => spare.go();
album.turn = () => link.clear();
link.ended = () => post({ event: 'ended' });
link.stands = (role, moved) => stands(role, moved, true);
views.album = album;
const tabs = new BroadcastChannel('bayhold');

/** @param {boolean} online */
function connected(online) {
  views.net.online = phone.online = online;
  phone.tell({ online });
  views.refresh('job');
  views.all();
}

/** @param {string} role @param {string} moved where the shop is now, if it left this address @param {boolean} [mine] this tab heard it */
function stands(role, moved, mine) {
  Object.assign(views.net, { role, moved });
  if (mine) phone.tell({ role, moved });
  phone.is(role);
  views.soon();
}

phone.changed = () => {
  views.soon();
  hear();
};
phone.fault = (text) => post({ event: 'fault', text });
phone.renewed = () => link.socket?.drop();
phone.tell = (what) => tabs.postMessage(what);
tabs.onmessage = (/** @type {MessageEvent} */ { data }) => {
  if (data.ping && link.owner) phone.tell({ pong: true, online: link.online, later: link.later });
  if (data.later !== undefined && !link.owner) link.later = data.later;
  if (data.pong) link.pong = Date.now();
  if (data.online !== undefined && !link.owner) {
    views.net.online = phone.online = data.online;
    views.soon();
  }
  if (data.role) stands(data.role, data.moved);
  if (data.joined) link.connect();
  told.push(data);
  hear();
};

/** What other tabs did, in its order. It waits while this one reads the store,
 * at the start and whenever that was changed under it.
 * @type {any[]} */
const told = [];
let hearing = false;

async function hear() {
  if (hearing) return;
  hearing = true;
  while (phone.complete && told.length > 0) {
    try {
      const session = await phone.heard(told.shift());
      if (session) link.sent(session);
    } catch (error) {
      console.error(error);
    }
  }
  hearing = false;
}

/** The job that the page began with, '' if with none. */
const first = self.name.match(/^bayhold-first (.*)/)?.[1];
/** @type {(job: string) => void} */
let firstView = () => {};
/** What the page looks at. The one that began with this worker has named it so
 * (begin.js), another one says it soon, or not. */
const wanted = new Promise((resolve) => {
  firstView = resolve;
  if (first === undefined) setTimeout(() => resolve(''), 200);
  else resolve(first);
});
if (first !== undefined) views.foresee(first);
/** @type {(core: WebAssembly.Module | undefined) => void} */
let compiled = () => {};
if (first !== undefined && WebAssembly.compileStreaming) phone.given = new Promise((resolve) => (compiled = resolve));

/** Has the process load its tables of dates and numbers, which takes a phone that
 * was just switched on as long as a screen takes to draw. The page's thread finds
 * them loaded, and this one has nothing else to do while the store opens. */
function loadTables() {
  for (const locale of ['en-GB', navigator.language]) {
    try {
      new Intl.DateTimeFormat(locale, { weekday: 'short', hour: '2-digit', minute: '2-digit' }).format(0);
      new Intl.NumberFormat(locale).format(0.5);
    } catch {
      // WebKit calls its language 'C' where nobody chose one, which is none: no screen asks for it.
    }
  }
}

const started = (async () => {
  try {
    const opened = phone.open();
    loadTables();
    await opened;
    const logs = await phone.start(await wanted);
    await phone.forget(); // the page may have gone before it was done
    await hear();
    link.begins();
    await album.count();
    await phone.tidy();
    await phone.compact(logs);
  } catch (error) {
    console.error(error);
    post({ event: 'fault', text: `This phone cannot open its store or its core: ${error instanceof Error ? error.message : error}` });
    throw error;
  }
})();

/** The id that a body of this kind gives to something new. */
const NAMES = /** @type {Record<string, string>} */ ({ 'place.add': 'place', 'person.add': 'person' });

/** @param {{log: any, kind: string, body: any, strikes?: any[], sure?: boolean}[]} wanted */
async function write(wanted) {
  await phone.first.promise;
  const lines = [];
  for (const { log, kind, body, strikes = [], sure = false } of wanted) {
    const key = NAMES[kind];
    lines.push({
      log: await phone.named(log),
      kind,
      body: key && !body[key] ? { ...body, [key]: uuid7() } : body,
      sure,
      strikes: strikes.map((s) => /** @type {[string, number]} */ (Array.isArray(s) ? s : [s.writer, s.seq])),
    });
  }
  const { refs, session } = await phone.write(lines);
  link.sent(session);
  return { ok: true, log: refs[0].log, id: { writer: refs[0].writer, seq: refs[0].seq }, ids: refs };
}

/** @type {Record<string, (args: any) => any>} */
const answers = {
  view: ({ name, id = '' }) => {
    if (name === 'job') firstView(id);
    return views.watch(name, id);
  },
  unview: ({ name, id = '' }) => views.unwatch(name, id),

  write: (args) => write(args.lines ?? [args]),
  undo: ({ log, writer, seq }) => write([{ log, kind: 'strike', body: {}, strikes: [[writer, seq]] }]),
  newJob: async ({ sure, ...body }) => {
    const id = uuid7();
    return { ...(await write([{ log: `j:${id}`, kind: 'job.open', body, sure }])), id };
  },
  me: ({ person = '' }) => phone.setMe(person),
  pin: ({ lasts }) => phone.opened(lasts),
  join: async (ask) => {
    const person = await join(phone.store, ask);
    if (person) await phone.setMe(person);
    views.net.role = '';
    phone.tell({ joined: true });
    link.connect();
    return { ok: true };
  },

  photo: async ({ job, panel = '', blob, name = '', finding = false }) => {
    const { sha, bytes } = await album.add(job, blob);
    if (finding) return { ok: true, sha };
    return { ...(await write([{ log: `j:${job}`, kind: 'photo', body: { sha, bytes, panel, name } }])), sha };
  },
  voice: async ({ job, type, blob, length }) => {
    const { sha, bytes } = await album.take(job, type, blob);
    return write([{ log: `j:${job}`, kind: 'voice', body: { sha, bytes, length } }]);
  },
  photoURL: ({ sha }) => album.find(sha),

  draft: async ({ name = 'draft', set, get }) => {
    if (get) return (await phone.store.draft(name)) ?? null;
    await phone.store.keep('drafts', name, set ?? undefined, true);
    return null;
  },

  status: async () => {
    const { usage = 0, quota = 0 } = (await navigator.storage?.estimate?.()) ?? {};
    const photosWaiting = await album.count();
    const persisted = (await navigator.storage?.persisted?.()) ?? false;
    const spare = phone.store.journal.file !== null; // lines that are only here stand in two places
    const waiting = phone.complete ? phone.waiting : await phone.store.outboxSize(); // before it has counted
    return { online: views.net.online, waiting, photosWaiting, stored: usage, quota, persisted, spare, writer: phone.writer, owner: link.owner, later: waiting > 0 ? link.later : null };
  },
  here: () => onlyHere(phone),
  export: async ({ all = false }) => new Blob(await phone.export(all), { type: 'application/x-ndjson' }),
  id: () => uuid7(),
};

/** @type {(mark: any) => void} */
let remembered = () => {};
phone.remembered = new Promise((resolve) => (remembered = resolve));

self.onmessage = async ({ data }) => {
  if (data.type === 'mark') {
    remembered(data.mark);
    return;
  }
  if (data.type === 'core') {
    compiled(data.core);
    return;
  }
  if (data.type === 'drawing') {
    phone.draws = performance.now();
    return;
  }
  if (data.type === 'stir') {
    link.stir(data.visible);
    return;
  }
  const { ask, type, args } = data;
  try {
    const answer = answers[type];
    if (!answer) throw new Error(`nobody answers '${type}'`);
    post({ answer: ask, value: await answer(args) });
  } catch (error) {
    if (error instanceof Refused) post({ answer: ask, value: { refused: error.message, ask: error.ask } });
    else post({ answer: ask, error: error instanceof Error ? error.message : String(error) });
  }
};

started.catch(() => {});
