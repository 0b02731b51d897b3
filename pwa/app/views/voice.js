// @ts-check
// A spoken note: hands are on film, and a minute of speech says more than a
// glove can type. It is kept when it ends, however it ends, and goes to the
// shop as a photo does. Where the browser cannot record, nothing is offered.

import { html, nothing, sentence, t } from '../tongue.js';
import { app, closeSheet, job, openSheet, paint } from './app.js';
import { noted, refuse } from './acts.js';
import { refusal } from './dock.js';
import { sheet } from './sheet.js';
import { shape } from './shapes.js';
import { voiceWord } from './words.js';

const LONGEST = 60_000; // ms
const SPEECH = 32_000; // bit/s
const TYPES = ['audio/webm;codecs=opus', 'audio/mp4', 'audio/webm'];

const type = () => TYPES.find((t) => globalThis.MediaRecorder?.isTypeSupported(t));

/** The recording in hand. @type {null | {job: string, recorder: MediaRecorder, parts: Blob[], began: number, stop: ReturnType<typeof setTimeout>}} */
let now = null;

/** The button that opens it, where this phone can record. */
export const voiceButton = () => (type() && navigator.mediaDevices ? html`<button type="button" class="press" data-testid="voice-add"
  @click=${() => openSheet('voice')}>${shape('voice')}<span>${voiceWord.title}</span></button>` : nothing);

export function voiceSheet() {
  const seconds = now ? Math.floor((performance.now() - now.began) / 1000) : 0;
  return sheet(voiceWord.title, html`
    ${now ? html`<p class="digits" data-testid="voice-time" role="timer">${seconds}<small>${voiceWord.of}</small></p>` : html`<p>${voiceWord.says}</p>`}
    ${refusal(app.refused)}
    <div class="acts">${now
      ? html`<button type="button" class="act go low" data-testid="voice-stop" @click=${stop}>${voiceWord.stop}</button>`
      : html`<button type="button" class="act go low" data-testid="voice-record" @click=${record}>${voiceWord.record}</button>`}</div>`);
}

async function record() {
  if (now) return;
  app.refused = '';
  const id = job().id;
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: true });
  } catch (error) {
    return refuse(/** @type {any} */ (error)?.name === 'NotAllowedError' ? voiceWord.notAllowed : voiceWord.none);
  }
  const recorder = new MediaRecorder(stream, { mimeType: type(), audioBitsPerSecond: SPEECH });
  const mine = { job: id, recorder, parts: /** @type {Blob[]} */ ([]), began: performance.now(), stop: setTimeout(stop, LONGEST) };
  recorder.ondataavailable = ({ data }) => mine.parts.push(data);
  recorder.onstop = () => {
    for (const track of stream.getTracks()) track.stop();
    keep(mine);
  };
  recorder.start();
  now = mine;
  const tick = () => {
    if (now !== mine) return;
    if (app.sheet?.name !== 'voice') return stop(); // closed: what was said is kept
    paint();
    setTimeout(tick, 500);
  };
  tick();
}

addEventListener('pagehide', stop);
document.addEventListener('visibilitychange', () => { if (document.hidden) stop(); });

/** Ends the recording in hand. */
function stop() {
  if (!now) return;
  clearTimeout(now.stop);
  const { recorder } = now;
  if (recorder.state !== 'inactive') recorder.stop();
}

/** @param {NonNullable<typeof now>} mine */
async function keep(mine) {
  const length = Math.round(performance.now() - mine.began);
  now = null;
  try {
    const blob = await new Blob(mine.parts).arrayBuffer();
    const answer = await app.shop.ask('voice', { job: mine.job, type: mine.recorder.mimeType.split(';')[0], blob, length }, [blob]);
    if (answer?.refused) return refuse(answer.refused);
    if (app.sheet?.name === 'voice') closeSheet();
    noted(voiceWord.kept, answer.log, answer.id);
  } catch (error) {
    refuse(t`Voice note not stored: ${sentence(String(error instanceof Error ? error.message : error))}`);
  }
}

/** Notes that were asked for: a blob's address, '' while it comes. @type {Map<string, string>} */
const urls = new Map();

/** Playing a note among the lines. @param {string} sha @param {string} text */
export function player(sha, text) {
  const url = urls.get(sha);
  if (url) return html`<audio controls src=${url} data-testid="voice-player" aria-label=${text}></audio>`;
  return html`<button type="button" class="press plain" data-testid="voice-play" aria-label="Play: ${text}" ?disabled=${url === ''} @click=${() => play(sha)}>${shape('play')}</button>`;
}

/** @param {string} sha */
async function play(sha) {
  urls.set(sha, '');
  const bytes = await app.shop.ask('photoURL', { sha }).catch(() => null);
  if (!bytes) {
    urls.delete(sha);
    return refuse(voiceWord.notHere);
  }
  const webm = new Uint8Array(bytes)[0] === 0x1a; // EBML's first byte; else it is MP4
  urls.set(sha, URL.createObjectURL(new Blob([bytes], { type: webm ? 'audio/webm' : 'audio/mp4' })));
  paint();
}
