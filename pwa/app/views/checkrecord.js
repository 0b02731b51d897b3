// @ts-check
// Checks a vehicle's sealed record on this phone, without signal: reads the zip,
// compares every file with the seal, and the seal with the shop's signature.
// What is in a record stands in the comment of server/sealed. Not part of the
// first visit: a phone fetches this file once the app is installed.

import { html, nothing, t } from '../tongue.js';
import { encode } from '../cbor.js';
import { paint } from './app.js';
import { shape } from './shapes.js';

const MAX_FILES = 10_000, MAX_FILE = 256e6; // bytes
const OWN = ['seal.json', 'seal.cbor', 'seal.sig'];

/** What came of the last record. @type {null | {busy?: string, faults: string[], says: string[]}} */
let found = null;

export const checkScreen = () => html`
  <header class="top"><a class="press plain" href="#/phone" aria-label="This phone">${shape('back')}</a><h1 tabindex="-1">Check a record</h1></header>
  <main class="screen narrow" data-testid="check">
    <section class="lap stack"><p>Pick the zip of a vehicle record. It does not leave this phone.</p>
      <label class="press go wide"><span>Pick the zip</span><input class="unseen" type="file" accept=".zip,application/zip" data-testid="record-file" @change=${pick}></label></section>
    <section class=${found ? 'lap stack' : nothing} aria-live="polite" data-testid="checked">${found ? result(found) : nothing}</section>
  </main>`;

/** @param {NonNullable<typeof found>} f */
const result = (f) => f.busy ? html`<p>${f.busy}</p>` : html`
  <p class="fact row">${shape(f.faults.length ? 'held' : 'done')}<span>${f.faults.length ? t`It does not fit the seal.` : t`All fits. Nothing changed since it was sealed.`}</span></p>
  ${f.faults.length ? html`<ul>${f.faults.slice(0, 50).map((fault) => html`<li>${fault}</li>`)}</ul>` : nothing}
  ${f.says.map((says) => html`<p class="small">${says}</p>`)}`;

/** @param {any} e */
async function pick(e) {
  const file = e.target.files?.[0];
  e.target.value = '';
  if (!file) return;
  found = { busy: t`Reading …`, faults: [], says: [] };
  paint();
  try {
    found = await check(file);
  } catch (err) {
    found = { faults: [/** @type {any} */ (err)?.message ?? String(err)], says: [] };
  }
  paint();
}

/** @param {Blob} blob */
export async function check(blob) {
  /** @type {string[]} */
  const faults = [], says = [];
  const files = await entries(blob);
  const read = async (/** @type {string} */ name, /** @type {number} */ size = MAX_FILE) => {
    const f = files.get(name);
    return f && f.size <= size ? bytesOf(blob, f) : null;
  };
  const [json, cbor, sig] = await Promise.all(OWN.map((name) => read(name)));
  if (!json || !cbor) return { faults: [t`No seal is in it. This is no vehicle record.`], says };
  let seal;
  try {
    seal = JSON.parse(text(json));
    if (seal.version !== 1) return { faults: [t`This record is of a newer version. Update the app.`], says };
    if (!same(encode(signed(seal)), cbor)) throw 0;
  } catch {
    return { faults: [t`seal.json or seal.cbor was changed. Nothing else was checked.`], says };
  }
  const key = base64(seal.shop_key);
  const good = await verifies(key, sig, cbor);
  if (good === null) says.push(t`Signature not checked here: this browser cannot.`);
  else if (!good) faults.push(t`seal.sig was changed: the signature does not fit.`);

  /** @type {Set<string>} */
  const listed = new Set(OWN);
  for (const { name, size, sha256 } of seal.files) {
    listed.add(name);
    const f = files.get(name);
    if (!f) faults.push(t`${name} is missing.`);
    else {
      const b = await read(name, size);
      if (!b || b.length !== size || (await sha(b)) !== sha256) faults.push(...(await where(name, b, read)));
    }
  }
  for (const name of files.keys()) if (!listed.has(name)) faults.push(t`${name} does not belong to this record.`);
  says.push(t`${seal.files.length} files. Closed ${seal.closed.slice(0, 16).replace('T', ' ')} UTC.`);
  const lines = await read('lines.jsonl');
  if (lines && !faults.length) {
    const { gone, unsaid } = await erased(lines);
    for (const n of unsaid) faults.push(t`lines.jsonl, line ${n} was erased, and no line says so.`);
    if (gone) says.push(t`Erased later by the shop, as its lines say: ${gone}.`);
  }
  if (seal.missing.length) says.push(t`Photos and notes that were not at the shop: ${seal.missing.length}.`);
  says.push(t`Sealed by the key ${seal.shop_key_fingerprint}. Compare it with the shop's.`);
  if ((await sha(key)).slice(0, 32) !== seal.shop_key_fingerprint.replaceAll(' ', '')) faults.push(t`seal.json was changed: the key has another fingerprint.`);
  return { faults, says };
}

/** How many lines were erased, and which of them no line 'forget' explains. The
 * bytes of an erased line are its hash and what is left of it.
 * @param {Uint8Array} raw */
async function erased(raw) {
  const lines = text(raw).split('\n').filter(Boolean).map((l) => JSON.parse(l)), unsaid = [];
  /** @type {Map<string, [string, string]>} */
  const said = new Map();
  for (const { log, kind, body } of lines) {
    if (kind === 'forget') body.sums?.forEach((/** @type {string} */ sum, /** @type {number} */ i) => said.set(`${log} ${body.writers[i]} ${body.seqs[i]}`, [sum, body.left[i]]));
  }
  let gone = 0;
  for (const [i, { log, writer, seq, bytes }] of lines.entries()) {
    const b = base64(bytes);
    if (b[0] !== 0x82) continue;
    gone++;
    const [sum, left] = said.get(`${log} ${writer} ${seq}`) ?? ['', ''];
    if (!same(hex(sum), b.subarray(3, 35)) || left !== await sha(b.subarray(35))) unsaid.push(i + 1);
  }
  return { gone, unsaid };
}

/** The lines of lines.jsonl that chain.csv does not know; of another file its name.
 * @param {string} name @param {Uint8Array | null} b @param {(name: string) => Promise<Uint8Array | null>} read */
async function where(name, b, read) {
  const chain = name === 'lines.jsonl' && b && (await read('chain.csv'));
  if (!chain) return [t`${name} was changed.`];
  const rows = text(chain).split('\r\n').slice(1, -1).map((r) => r.split(',')[3]);
  const out = [], changed = new Set(), known = new Set(rows), here = new Set();
  let n = 0, from = 0;
  for (let i = 0; i <= b.length; i++) {
    if (i < b.length ? b[i] !== 10 : from === i) continue;
    const sum = await sha(b.subarray(from, i + 1));
    n++;
    here.add(sum);
    if (!known.has(sum)) {
      changed.add(n - 1);
      out.push(t`${name}, line ${n} was changed.`);
    }
    from = i + 1;
  }
  rows.forEach((sum, i) => { if (!here.has(sum) && !changed.has(i)) out.push(t`${name}, line ${i + 1} is missing.`); });
  return out.length ? out : [t`${name} was changed.`];
}

/** What is signed, of what seal.json says. @param {any} s */
function signed(s) {
  const cursor = (/** @type {any} */ c) => [c.epoch, c.order, hex(c.hash)];
  return [s.what, s.version, id(s.job), cursor(s.hand_over), base64(s.hand_over_signature), cursor(s.last_line), s.how, Date.parse(s.opened), Date.parse(s.closed),
    s.rules, s.people.map((/** @type {any} */ p) => [id(p.id), p.name, p.role]), s.writers.map((/** @type {any} */ w) => [id(w.id), w.lines]),
    s.quoted.map((/** @type {any} */ q) => [Uint8Array.of(q.log.charCodeAt(0), ...id(q.log.split(':')[1])), cursor(q)]),
    s.missing, s.files.map((/** @type {any} */ f) => [f.name, f.size, hex(f.sha256)]), base64(s.shop_key)];
}

/** @param {Uint8Array} key @param {Uint8Array | null} sig @param {Uint8Array} message
 * @returns {Promise<boolean | null>} null: this browser knows no Ed25519 */
async function verifies(key, sig, message) {
  let k;
  try {
    k = await crypto.subtle.importKey('raw', /** @type {any} */ (key), { name: 'Ed25519' }, false, ['verify']);
  } catch {
    return null;
  }
  return !!sig && crypto.subtle.verify({ name: 'Ed25519' }, k, /** @type {any} */ (sig), /** @type {any} */ (message));
}

/** @typedef {{method: number, packed: number, size: number, at: number}} Entry */

/** The files of a zip by its directory (APPNOTE.TXT section 4.3.12 and 4.3.16).
 * @param {Blob} blob */
async function entries(blob) {
  const tail = await view(blob, Math.max(0, blob.size - 65_557), blob.size);
  let end = tail.byteLength - 22;
  while (end >= 0 && tail.getUint32(end, true) !== 0x06054b50) end--;
  if (end < 0) throw new Error(t`This is no zip that can be read.`);
  const count = tail.getUint16(end + 10, true), size = tail.getUint32(end + 12, true), from = tail.getUint32(end + 16, true);
  if (count > MAX_FILES || from + size > blob.size) throw new Error(t`This zip is damaged, or too large.`);
  const dir = await view(blob, from, from + size);
  /** @type {Map<string, Entry>} */
  const files = new Map();
  for (let p = 0, i = 0; i < count; i++) {
    if (p + 46 > size || dir.getUint32(p, true) !== 0x02014b50) throw new Error(t`The directory of this zip is damaged.`);
    const n = dir.getUint16(p + 28, true);
    const name = text(new Uint8Array(dir.buffer, p + 46, Math.min(n, size - p - 46)));
    const method = dir.getUint16(p + 10, true);
    if (files.has(name) || (method !== 0 && method !== 8)) throw new Error(t`${name} stands in it twice, or is packed otherwise.`);
    if (!name.endsWith('/')) files.set(name, { method, packed: dir.getUint32(p + 20, true), size: dir.getUint32(p + 24, true), at: dir.getUint32(p + 42, true) });
    p += 46 + n + dir.getUint16(p + 30, true) + dir.getUint16(p + 32, true);
  }
  const top = [...files.keys()].find((n) => /^[^/]+\/seal\.cbor$/.test(n))?.slice(0, -'seal.cbor'.length);
  return top ? new Map([...files].map(([n, f]) => [n.startsWith(top) ? n.slice(top.length) : n, f])) : files;
}

/** @param {Blob} blob @param {Entry} f */
async function bytesOf(blob, f) {
  const head = await view(blob, f.at, f.at + 30);
  if (head.byteLength < 30) return new Uint8Array();
  const from = f.at + 30 + head.getUint16(26, true) + head.getUint16(28, true);
  const packed = blob.slice(from, from + f.packed);
  if (f.method === 0) return new Uint8Array(await packed.arrayBuffer());
  // No more than it says is unpacked.
  const out = new Uint8Array(f.size), reader = packed.stream().pipeThrough(new DecompressionStream('deflate-raw')).getReader();
  let n = 0;
  try {
    for (let r = await reader.read(); !r.done && n + r.value.length <= f.size; r = await reader.read()) {
      out.set(r.value, n);
      n += r.value.length;
    }
  } catch { /* damaged: what came has another hash */ }
  reader.cancel().catch(() => {});
  return out.subarray(0, n);
}

/** @param {Blob} blob @param {number} from @param {number} to */
const view = async (blob, from, to) => new DataView(await blob.slice(from, to).arrayBuffer());

/** @param {Uint8Array} b */
const text = (b) => new TextDecoder().decode(b);

/** @param {Uint8Array} b */
const sha = async (b) => [...new Uint8Array(await crypto.subtle.digest('SHA-256', /** @type {any} */ (b)))].map((x) => x.toString(16).padStart(2, '0')).join('');

/** @param {string} s */
const hex = (s) => Uint8Array.from(s.match(/../g) ?? [], (x) => parseInt(x, 16));

/** @param {string} s */
const id = (s) => hex(s.replaceAll('-', ''));

/** @param {string} s */
const base64 = (s) => Uint8Array.from(atob(s.replaceAll('-', '+').replaceAll('_', '/')), (c) => c.charCodeAt(0));

/** @param {Uint8Array} a @param {Uint8Array} b */
const same = (a, b) => a.length === b.length && a.every((x, i) => x === b[i]);
