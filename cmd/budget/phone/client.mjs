// A phone in the side-by-side run: the real core (WebAssembly) and the real
// socket under Node; lines are kept in memory, as the peers' clients keep
// theirs. Roles: a has everything offline and connects, b follows, late counts
// what the shop still has, l is 20 listeners, w writes live.
import { createHash, randomBytes, randomUUID } from 'node:crypto';
import { promisify } from 'node:util';
import { deflateRaw, inflateRaw } from 'node:zlib';
import WS from '../yjs/node_modules/ws/wrapper.mjs';
import { compile, Op } from './app/core.js';
import { Socket } from './app/socket.js';
import { now, loadEvents, post, onMsg, collector } from '../common/util.mjs';
import { jobs } from '../common/gen.mjs';

const [role, base, nText] = process.argv.slice(2);
const N = Number(nText) + jobs.length; // each job is opened by a line of its own
globalThis.WebSocket = class extends WS {
  constructor(url, protocol) {
    super(url, protocol, { origin: base, perMessageDeflate: false });
  }
};

// A browser's streams of compression are native code. Node's are JavaScript
// around zlib that costs several times what zlib does, so zlib alone stands for
// them, at the level that browsers use.
const native = (whole) =>
  class {
    writable = { getWriter: () => ({ write: async (bytes) => void (this.out = whole(bytes, { chunkSize: 1 << 16 })), close: async () => {} }) };
    readable = {
      getReader: () => ({
        read: async () => {
          const value = await this.out;
          this.out = null;
          return { done: !value, value };
        },
      }),
    };
  };
globalThis.CompressionStream = native(promisify(deflateRaw));
globalThis.DecompressionStream = native(promisify(inflateRaw));

// Jobs of the workload as logbooks: the same UUID for the same name everywhere.
const logs = new Map();
const logOf = (job) => {
  let log = logs.get(job);
  if (!log) {
    const h = createHash('sha256').update(job).digest('hex');
    logs.set(job, (log = `j:${h.slice(0, 8)}-${h.slice(8, 12)}-8${h.slice(13, 16)}-8${h.slice(17, 20)}-${h.slice(20, 32)}`));
  }
  return log;
};

class Phone {
  constructor(core) {
    this.core = core;
    this.writer = randomUUID();
    this.rows = new Map(); // log -> first order -> bytes, as the phone's store has them
    this.seqs = new Map();
    this.count = 0;
    this.kept = 0;
    this.onRows = () => {};
    this.call(Op.start, { writer: this.writer, device: randomUUID(), life: Math.floor(Math.random() * 2 ** 48) });
  }
  call(op, input) {
    const { json, blobs } = this.core.call(op, { wall: Date.now(), mono: Math.floor(performance.now()), ...input });
    return { head: JSON.parse(json), blobs };
  }
  write(log, kind, body) {
    const seq = (this.seqs.get(log) ?? 0) + 1;
    const { blobs } = this.call(Op.write, { log, kind, body, by: '', seq, salt: new Uint8Array(randomBytes(16)), sure: true });
    this.seqs.set(log, seq);
    return blobs[0];
  }
  note(event, live) {
    const text = `${event.kind} ${JSON.stringify(event.payload)}`;
    return this.write(logOf(event.job), 'note', { text: live ? `${event.id} ${text}` : text });
  }
  /** The lines that open the workload's jobs. */
  openJobs() {
    return jobs.map((label) => {
      const line = this.write(logOf(label), 'job.open', { label, customer: 'Oddvale Parcels', route: 'van', panels: [{ id: 'roof', name: 'Roof' }] });
      this.call(Op.load, { rows: [], lines: [line] });
      return line;
    });
  }
  connect() {
    return new Promise((done) => {
      this.caught = done;
      this.socket = new Socket(base.replace('http', 'ws') + '/ws', {
        opened: () => this.done(this.call(Op.open, { cursors: [] })),
        frame: (bytes) => this.done(this.call(Op.frame, { bytes })),
        closed: () => console.error(role, 'closed'),
      });
      setInterval(() => this.done(this.call(Op.tick, {})), 2000).unref();
    });
  }
  done({ head, blobs }) {
    let at = 0;
    const { frames = [], store = [], kept = [], aside = [] } = head;
    for (const f of frames) this.socket.send(blobs[at++], f.batch);
    for (const r of store) {
      const bytes = blobs[at++];
      if (!this.rows.has(r.log)) this.rows.set(r.log, new Map());
      this.rows.get(r.log).set(r.first, bytes);
      this.count += r.log[0] === 'j' ? r.last - r.first + 1 : 0;
      this.onRows(bytes);
    }
    for (const run of kept) this.kept += run.to - run.seq + 1;
    if (aside.length) console.error(role, 'aside', aside[0]);
    if (head.closed) console.error(role, head.closed);
    if (head.caught) this.caught();
    this.onDone?.();
  }
  hash() {
    const h = createHash('sha256');
    for (const log of [...this.rows.keys()].filter((l) => l[0] === 'j').sort()) {
      for (const [, bytes] of [...this.rows.get(log)].sort((x, y) => x[0] - y[0])) h.update(bytes);
    }
    return h.digest('hex').slice(0, 16);
  }
}

const make = await compile(base + '/app/core.wasm');
const phone = async () => new Phone(await make());

if (role === 'a') {
  const events = loadEvents(Number(nText)), p = await phone();
  const t = now();
  p.openJobs();
  for (const e of events) p.call(Op.load, { rows: [], lines: [p.note(e, false)] });
  post('built', { ms: now() - t });
  const from = __bytes();
  onMsg({
    go: async () => {
      const t0 = now();
      p.onDone = () => {
        if (p.kept < N) return;
        p.onDone = null;
        post('synced', { t0, ms: now() - t0, hash: p.hash() });
      };
      await p.connect();
    },
    bytes: () => post('bytes', { bytes: { read: __bytes().read - from.read, written: __bytes().written - from.written } }),
  });
} else if (role === 'b') {
  const p = await phone();
  await p.connect();
  const from = __bytes();
  p.onRows = () => p.count >= N && post('done', { t1: now(), bytes: __bytes(), base: from, hash: p.hash() });
  post('ready');
  onMsg({});
} else if (role === 'late') {
  const p = await phone();
  await p.connect();
  post('count', { count: p.count - jobs.length });
  onMsg({});
} else if (role === 'l') {
  const seen = collector();
  for (let i = 0; i < 20; i++) {
    const p = await phone();
    await p.connect();
    p.onRows = (bytes) => {
      const id = /[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}/.exec(Buffer.from(bytes).toString('latin1'));
      if (id) seen(i, id[0]); // lines that open a job have none
    };
  }
  post('ready');
  onMsg({});
} else if (role === 'w') {
  const p = await phone();
  await p.connect();
  p.done(p.call(Op.send, { lines: p.openJobs() }));
  post('ready');
  onMsg({
    send: (m) => {
      const at = now();
      p.done(p.call(Op.send, { lines: [p.note(m.e, true)] }));
      post('sent', { id: m.e.id, at });
    },
  });
}
