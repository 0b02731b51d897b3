// One configuration of the peers' harness: backlog of N lines from phone a to
// phone b, or (MODE=live) one line to 20 phones, then SIGKILL of the server.
import fs from 'node:fs';
import path from 'node:path';
import { startServer, client, killWait, hwm, cpu, sleep, live, dataRoot, cutPower } from '../common/util.mjs';

const here = path.dirname(new URL(import.meta.url).pathname);
const N = Number(process.env.N || 10000);
const port = 5900 + Math.floor(Math.random() * 300), base = `http://127.0.0.1:${port}`;
const app = path.join(here, 'app');
if (!fs.existsSync(app)) fs.cpSync(process.env.APP, app, { recursive: true });

let data = fs.mkdtempSync(dataRoot() + 'bayhold-');
const server = () => startServer('./bayhold.bin', ['serve', '--addr', `127.0.0.1:${port}`, '--data', data], {}, /serving|listening/i, here);
const phone = (role, n = N) => client('client.mjs', [role, base, n]);
const out = { stack: 'bayhold', N };
let s = await server();
out.idleMB = hwm(s.pid).hwmMB;
if (process.env.MODE !== 'live') {
  const b = phone('b');
  await b.wait('ready');
  const a = phone('a');
  out.buildMs = (await a.wait('built')).ms;
  const before = cpu(s.pid);
  a.send({ t: 'go' });
  const [sy, dn] = await Promise.all([a.wait('synced'), b.wait('done')]);
  out.wallMs = dn.t1 - sy.t0;
  out.aSyncedMs = sy.ms;
  out.same = sy.hash === dn.hash;
  out.bDown = dn.bytes.read - dn.base.read;
  out.bUp = dn.bytes.written - dn.base.written;
  await sleep(300);
  a.send({ t: 'bytes' });
  const bytes = (await a.wait('bytes')).bytes;
  out.aUp = bytes.written;
  out.aDown = bytes.read;
  out.serverCpuMs = cpu(s.pid) - before;
  out.peakMB = hwm(s.pid).hwmMB;
  await killWait(a);
  await killWait(b);
  const late = phone('late');
  out.lateCount = (await late.wait('count')).count;
  await killWait(late);
} else {
  const l = phone('l');
  await l.wait('ready');
  const w = phone('w');
  await w.wait('ready');
  await sleep(500);
  Object.assign(out, await live(w, l, Number(process.env.M || 500)));
  out.serverPeakMB = hwm(s.pid).hwmMB;
  await Promise.all([killWait(s), killWait(l), killWait(w)]);
  data = cutPower(data);
  s = await server();
  const late = phone('late');
  out.afterKill9 = (await late.wait('count')).count;
  await killWait(late);
}
await killWait(s);
fs.rmSync(data, { recursive: true, force: true });
console.log(JSON.stringify(out));
process.exit(0);
