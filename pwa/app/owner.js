// @ts-check
// The page of a vehicle's owner, which a link opens: when it is ready, what waits
// on them, what was found. It is no part of the crew's app. What it shows over an
// answer is the shop server's text, in the language that the owner reads, line by
// line; the answer goes back with that text's hash, and is taken only if the text
// still stands.

import { html, svg, render, nothing } from './vendor/lit-html.js';
import { bodyOf, box, matrix, regionsOf, sizeOf } from './views/bodies.js';
import { pen, strokesOf, wipe } from './views/pen.js';
import { pinShape, pinsOf } from './views/pins.js';
import { state } from './views/shapes.js';

/** The page's own words; everything about the vehicle comes from the server. */
const words = {
  en: {
    title: 'Your vehicle', language: 'Language', opening: 'One moment.', waits: 'Waiting on you', nothingWaits: 'Nothing waits on you.', found: 'What we found', signed: 'Signed', care: 'Care sheet',
    accept: 'Accept', bare: 'Leave it bare', send: 'Send my answer', choose: 'Choose one of the two first.', name: 'Your name', finger: 'Signature, with a finger', fingerHelp: 'Sign here with a finger; the name alone will do', again: 'Again', sign: 'Sign', needsName: 'Type your name.',
    sent: 'Thank you. The shop has your answer.', record: 'Vehicle record (PDF)', photo: 'Photo', noPhoto: 'The photo has not arrived yet.', front: 'front', wrong: 'Something wrong? Call the shop before you answer.',
    403: 'This link does not open anything. Ask the shop for another.', 401: 'Open the link that the shop gave you.', 410: 'This link is over or was taken back. Ask the shop for another.', 429: 'Too many wrong links from here. Wait ten minutes.',
    409: 'This changed while you read it. Read it again.', 400: 'The shop could not read that. Try again.', 503: 'The shop cannot answer just now. Try again.', away: 'The shop cannot be reached. Try again.', retry: 'Try again',
    count: (/** @type {number} */ n) => `Waiting on you: ${n}`, foot: (/** @type {string} */ to, /** @type {string} */ until) => `For ${to}, until ${until}. This vehicle only.`,
    kept: 'Answers and signatures stay in the vehicle\'s record, with the time and "by link".',
  },
  es: {
    title: 'Su vehículo', language: 'Idioma', opening: 'Un momento.', waits: 'Esperan su respuesta', nothingWaits: 'Nada espera su respuesta.', found: 'Lo que encontramos', signed: 'Firmado', care: 'Hoja de cuidados',
    accept: 'Aceptar', bare: 'Dejar sin vinil', send: 'Enviar mi respuesta', choose: 'Elija antes una de las dos.', name: 'Su nombre', finger: 'Firma, con el dedo', fingerHelp: 'Firme aquí con el dedo; basta el nombre', again: 'De nuevo', sign: 'Firmar', needsName: 'Escriba su nombre.',
    sent: 'Gracias. El taller tiene su respuesta.', record: 'Registro del vehículo (PDF)', photo: 'Foto', noPhoto: 'La foto aún no ha llegado.', front: 'delante', wrong: '¿Algo no cuadra? Llame al taller antes de responder.',
    403: 'Este enlace no abre nada. Pida otro al taller.', 401: 'Abra el enlace que le dio el taller.', 410: 'Este enlace terminó o fue retirado. Pida otro al taller.', 429: 'Demasiados enlaces erróneos desde aquí. Espere diez minutos.',
    409: 'Esto cambió mientras lo leía. Léalo otra vez.', 400: 'El taller no pudo leerlo. Pruebe otra vez.', 503: 'El taller no puede responder ahora. Pruebe otra vez.', away: 'No se puede llegar al taller. Pruebe otra vez.', retry: 'Probar otra vez',
    count: (/** @type {number} */ n) => `Esperan su respuesta: ${n}`, foot: (/** @type {string} */ to, /** @type {string} */ until) => `Para ${to}, hasta ${until}. Solo este vehículo.`,
    kept: 'Respuestas y firmas quedan en el registro del vehículo, con la hora y «por enlace».',
  },
};

/** @typedef {'en' | 'es'} Language */
/** @typedef {{key: string, lines: string[], shown: string}} Due */

const EVERY = 30_000; // ms between two looks while the page is seen
const base = location.pathname.replace(/\/$/, '');

/** What a tab remembers of the language; a browser may refuse its store. @param {string} [set] */
function remembered(set) {
  try {
    if (set) localStorage.setItem('owner-language', set);
    return localStorage.getItem('owner-language');
  } catch {
    return null;
  }
}

/** @type {{language: Language, page: any, failed: string, again: boolean, said: string, token: string, asking: boolean,
 *   chosen: Record<string, string>, signing: Record<string, {shown: string, strokes: number[], down?: any}>, name: string, noPhoto: Set<string>}} */
const own = {
  language: /** @type {Language} */ (remembered() ?? (/^es\b/.test(navigator.language) ? 'es' : 'en')),
  page: null, failed: '', again: false, said: '', token: '', asking: false, chosen: {}, signing: {}, name: '', noPhoto: new Set(),
};

/** @returns {any} */
const word = () => words[own.language] ?? words.en;

/** Asks the shop; a refusal becomes the sentence of its code. @param {string} path @param {object} [body] */
async function ask(path, body) {
  const response = await fetch(base + path, body && { method: 'POST', body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } });
  if (response.ok) return response;
  throw Object.assign(new Error(word()[response.status] ?? word()[503]), { code: response.status });
}

/** @param {any} error */
const why = (error) => (error instanceof TypeError ? word().away : error.message);

/** The link's token leaves the address as soon as the shop has answered to it. */
async function open() {
  const token = location.hash.slice(1);
  if (token) own.token = token;
  own.failed = '';
  paint();
  try {
    if (own.token) await ask('/open', { token: own.token });
    own.token = '';
    await read();
  } catch (error) {
    own.failed = why(error);
    own.again = [word().away, word()[503], word()[429]].includes(own.failed);
    if (!own.again) own.token = ''; // it was heard, and is worth nothing
  }
  if (location.hash && !own.token) history.replaceState(null, '', location.pathname);
  paint();
}

/** Reads the page anew. A paper that changed is drawn on anew. */
async function read() {
  own.page = await (await ask('/page?language=' + own.language)).json();
  own.failed = '';
  for (const p of own.page.papers) {
    const s = own.signing[p.due.key];
    if (s && s.shown !== p.due.shown) delete own.signing[p.due.key];
  }
}

/** @param {() => Promise<unknown>} act @param {string} [said] */
async function does(act, said = '') {
  if (own.asking) return;
  own.asking = true;
  own.failed = own.said = '';
  paint();
  try {
    await act();
    if (said) own.said = said;
    await read();
  } catch (error) {
    const /** @type {any} */ e = error;
    if (e.code === 409) await read().catch(() => {});
    own.failed = why(e);
  }
  own.asking = false;
  tell(own.failed || own.said);
  paint();
  if (own.failed) document.querySelector('.refused')?.scrollIntoView({ block: 'center' });
}

/** @param {string} text */
const tell = (text) => { /** @type {HTMLElement} */ (document.getElementById('said')).textContent = text; };

/** @param {Language} language */
function speak(language) {
  own.language = language;
  remembered(language);
  own.signing = {};
  does(async () => {});
}

let due = false;
function paint() {
  if (due) return;
  due = true;
  queueMicrotask(() => {
    due = false;
    document.documentElement.lang = own.language;
    document.title = own.page ? own.page.vehicle : word().title;
    render(screen(), /** @type {HTMLElement} */ (document.getElementById('page')));
  });
}

function screen() {
  const p = own.page, w = word();
  return html`
    <header class="top"><span class="shop">${p?.shop || nothing}</span>
      <div class="tongues" role="group" aria-label=${w.language}>${[['en', 'English'], ['es', 'Español']].map(([key, name]) => html`<button type="button" class="press" lang=${key}
        aria-pressed=${own.language === key} data-testid="tongue-${key}" @click=${() => speak(/** @type {Language} */ (key))}>${name}</button>`)}</div></header>
    <main class="screen narrow" data-testid="owner">
      ${p ? whole(p) : html`<h1 tabindex="-1">${w.title}</h1>`}
      ${p ? nothing : html`<section class="lap stack">${own.failed ? html`<p class="fact refused" data-testid="owner-failed">${own.failed}</p>
        ${own.again ? html`<button type="button" class="press wide" @click=${open}>${w.retry}</button>` : nothing}` : html`<p class="fact">${w.opening}</p>`}</section>`}
    </main>`;
}

/** @param {any} p */
function whole(p) {
  const w = word();
  const asked = p.findings.filter((/** @type {any} */ f) => f.due), answered = p.findings.filter((/** @type {any} */ f) => !f.due);
  const n = asked.length + p.papers.length;
  return html`
    <h1 tabindex="-1" data-testid="phase:${p.phase}">${p.title}</h1>
    <p class="quiet">${p.vehicle}</p>
    ${p.says.length ? html`<section class="lap stack">${p.says.map((/** @type {string} */ s) => html`<p class="fact">${s}</p>`)}</section>` : nothing}
    ${own.failed ? html`<p class="lap fact refused" data-testid="owner-failed">${own.failed}</p>` : nothing}
    ${own.said ? html`<p class="lap fact" data-testid="owner-said">${state('done', own.said)}</p>` : nothing}
    ${p.whole ? nothing : html`<section class="lap" aria-labelledby="waits-title">
      ${n ? html`<h2 id="waits-title" data-testid="waits">${w.count(n)}</h2>${asked.length ? drawing(p) : nothing}<p class="small quiet">${w.wrong}</p>` : html`<h2 id="waits-title" data-testid="waits">${w.nothingWaits}</h2>`}
      ${asked.map(finding)}${p.papers.map(paper)}
    </section>`}
    ${p.heading ? html`<section class="lap" aria-labelledby="tells-title"><h2 id="tells-title">${p.heading}</h2>${points(p.tells)}</section>` : nothing}
    ${p.care.length ? html`<section class="lap" aria-labelledby="care-title" data-testid="care"><h2 id="care-title">${w.care}</h2>${points(p.care)}</section>` : nothing}
    ${p.whole ? html`<p class="lap"><a class="press wide go" href="${base}/record.pdf?language=${own.language}" download data-testid="owner-record">${w.record}</a></p>` : nothing}
    ${answered.length ? html`<section class="lap" aria-labelledby="found-title"><h2 id="found-title">${w.found}</h2>${asked.length ? nothing : drawing(p)}
      <ol class="answered">${answered.map((/** @type {any} */ f) => html`<li><p class="row"><span class="pin-no is-${pinShape(f.answer)}">${f.n}</span><b class="grow">${f.name}</b></p>
        ${f.note ? html`<p>${f.note}</p>` : nothing}<p>${state(pinShape(f.answer), f.answered)}</p>${photo(f)}</li>`)}</ol></section>` : nothing}
    ${p.signed.length ? html`<section class="lap" aria-labelledby="signed-title"><h2 id="signed-title">${w.signed}</h2><ul class="stack">${p.signed.map((/** @type {string} */ s) => html`<li>${state('done', s)}</li>`)}</ul></section>` : nothing}
    <footer class="stack small quiet"><p>${w.foot(p.to, new Date(p.until).toLocaleDateString(own.language, { day: 'numeric', month: 'long', year: 'numeric' }))}</p><p>${w.kept}</p></footer>`;
}

/** @param {string[]} list */
const points = (list) => html`<ul class="points">${list.map((s) => html`<li>${s}</li>`)}</ul>`;

/** What is shown over an answer, every line of it. @param {Due} d @param {unknown} before */
const shown = (d, before) => html`${before}${d.lines.slice(2).map((l) => html`<p>${l}</p>`)}`;

/** @param {any} f */
function finding(f) {
  const w = word(), d = /** @type {Due} */ (f.due), chosen = own.chosen[d.key];
  return html`<article class="asked stack" data-testid="asked:${f.n}">
    <p class="small quiet">${d.lines[0]}</p>
    ${shown(d, html`<h3 class="row name"><span class="pin-no is-unknown">${f.n}</span><span class="grow">${d.lines[1]}</span></h3>${photo(f)}`)}
    <div class="choice" role="group" aria-label=${d.lines[1]}>${[['accepted', w.accept], ['declined', w.bare]].map(([key, name]) => html`<button type="button" class="press"
      aria-pressed=${chosen === key} data-testid="${key}:${f.n}" @click=${() => { own.chosen[d.key] = key; paint(); }}>${name}</button>`)}</div>
    ${chosen ? html`<button type="button" class="press go wide" ?disabled=${own.asking} data-testid="send:${f.n}"
      @click=${() => does(() => ask('/answer', { key: d.key, answer: chosen, shown: d.shown, language: own.language }), w.sent)}>${w.send}</button>` : nothing}
  </article>`;
}

/** @param {any} p */
function paper(p) {
  const w = word(), d = /** @type {Due} */ (p.due), s = (own.signing[d.key] ??= { shown: d.shown, strokes: [] });
  const draw = (/** @type {PointerEvent} */ e) => pen(e, s);
  return html`<article class="asked stack" data-testid="paper:${p.what}">
    <h3 class="name">${p.title}</h3>
    <ul class="shown">${d.lines.map((l) => html`<li>${l}</li>`)}</ul>
    <label class="field"><span>${w.name}</span><input autocomplete="name" maxlength="80" data-testid="owner-name" .value=${own.name} @input=${(/** @type {any} */ e) => { own.name = e.target.value; }}></label>
    <p><b>${w.finger}</b></p>
    <div class="pen"><canvas width="640" height="240" role="img" aria-label=${w.fingerHelp} data-testid="owner-canvas"
      @pointerdown=${draw} @pointermove=${draw} @pointerup=${draw} @pointercancel=${draw}></canvas></div>
    <div class="choice"><button type="button" class="press" @click=${(/** @type {any} */ e) => wipe(s, e.currentTarget.closest('article').querySelector('canvas'))}>${w.again}</button>
      <button type="button" class="press go" ?disabled=${own.asking} data-testid="owner-sign" @click=${() => sign(d, s)}>${w.sign}</button></div>
  </article>`;
}

/** @param {Due} d @param {{strokes: number[]}} s */
function sign(d, s) {
  if (!own.name.trim()) {
    own.failed = word().needsName;
    tell(own.failed);
    paint();
    /** @type {HTMLElement | null} */ (document.querySelector('[data-testid="owner-name"]'))?.focus();
    return;
  }
  const bytes = strokesOf(s.strokes);
  let raw = '';
  for (const b of bytes) raw += String.fromCharCode(b);
  does(() => ask('/sign', { key: d.key, name: own.name, strokes: btoa(raw), shown: d.shown, language: own.language }), word().sent);
}

/** @param {any} f */
function photo(f) {
  if (!f.photo) return nothing;
  if (own.noPhoto.has(f.photo)) return html`<p class="small quiet">${word().noPhoto}</p>`;
  return html`<img class="photo" alt="${word().photo}: ${f.name}" loading="lazy" src="${base}/photos/${f.photo}" @error=${() => { own.noPhoto.add(f.photo); paint(); }}>`;
}

/** The vehicle unrolled, front up, with a pin at everything that was found.
 * @param {any} p */
function drawing(p) {
  if (!p.panels.length || !p.findings.length) return nothing;
  const ids = p.panels.map((/** @type {any} */ x) => x.id), b = bodyOf(p.body || '', ids), [w, h] = sizeOf(b);
  const placed = p.panels.flatMap((/** @type {any} */ q) => regionsOf(b, q.id, ids).map((r, n) => ({ p: q, r, main: n === 0, box: box(b, r) })));
  const faces = b.sides ? ['L'] : b.side ? ['L', 'R', 'T'] : ['T'];
  return html`<div class="vehicle-map walk" aria-hidden="true"><div class="unrolled ${b.side ? '' : 'hood-only'} ${b.sides ? 'one-side' : ''}">
    ${b.side ? html`<span class="edge">${word().front}</span>` : nothing}
    <div class="flat"><svg viewBox="0 0 ${w} ${h}">
      <defs>${faces.map((f) => svg`<clipPath id="on-${f}"><path d=${f === 'T' ? b.middle : b.side} transform=${matrix(b, f)}/></clipPath>`)}</defs>
      ${faces.map((f) => svg`<path class="paint" d=${f === 'T' ? b.middle : b.side} transform=${matrix(b, f)}/>`)}
      ${placed.map((/** @type {any} */ q) => svg`<g clip-path="url(#on-${q.r.face})"><rect class="film bare" x=${q.box.x} y=${q.box.y} width=${q.box.w} height=${q.box.h}/></g>`)}
      ${faces.map((f) => svg`<path class="glass" d=${f === 'T' ? b.middleGlass : b.glass} transform=${matrix(b, f)}/>`)}
      ${pinsOf(p, b, placed)}</svg></div></div></div>`;
}

addEventListener('hashchange', () => { if (location.hash.length > 1) open(); });
setInterval(() => {
  const drawn = Object.values(own.signing).some((s) => s.strokes.length);
  if (own.page && !own.asking && !drawn && document.visibilityState === 'visible') read().catch(() => {}).then(paint);
}, EVERY);
open();
