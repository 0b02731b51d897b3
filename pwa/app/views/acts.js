// @ts-check
// Taps become intents here, and nowhere else. The worker answers with the
// line's identity, or with one sentence that says why not.

import { app, paint } from './app.js';
import { say, alarm } from './said.js';

/** Undo stays this long: longer where hands wear gloves. */
const BARE = 10_000, GLOVED = 60_000;

/** @param {{kind: string}} line */
const gloved = (line) => ['tick', 'reading', 'setback', 'evidence', 'place.event', 'climate.reading'].includes(line.kind);

/** The logbook of a job or of a place. @param {string} id */
export const ofJob = (id) => ({ class: 'j', id });
/** @param {string} id */
export const ofPlace = (id) => ({ class: 'p', id });
export const ofShop = () => ({ class: 's', id: '' });

/**
 * Writes one line. Answers true when it is stored on this phone.
 * @param {{log: any, kind: string, body: any, strikes?: any[]}} line
 * @param {string} words what the person reads when it is stored
 */
export async function write(line, words) {
  app.refused = '';
  let answer;
  try {
    answer = await app.shop.ask('write', line);
  } catch (error) {
    answer = { refused: 'Not stored: ' + (error instanceof Error ? error.message : error) + '. Tap again.' };
  }
  if (answer.refused) {
    refuse(answer.refused);
    return false;
  }
  noted(words, answer.log ?? line.log, answer.id, gloved(line) ? GLOVED : BARE);
  return true;
}

/** Shows the sentence that refused. @param {string} sentence */
export function refuse(sentence) {
  app.refused = sentence;
  alarm(sentence);
  paint();
}

/** @param {string} words @param {any} [log] @param {any} [id] @param {number} [span] */
export function noted(words, log, id, span = BARE) {
  const mine = { say: words, log, id, ends: performance.now() + span };
  app.noted = mine;
  say(words);
  paint();
  setTimeout(() => {
    if (app.noted === mine) { app.noted = null; paint(); }
  }, span);
}

/** Takes the last line back: a strike, never a delayed write. */
export async function undo() {
  const last = app.noted;
  if (!last?.id) return;
  app.noted = null;
  await strike(last.log, last.id, 'Taken back.');
}

/** @param {any} log @param {{writer: string, seq: number}} id @param {string} words */
export async function strike(log, id, words) {
  const answer = await app.shop.ask('undo', { log, writer: id.writer, seq: id.seq });
  if (answer?.refused) refuse(answer.refused);
  else noted(words, undefined, undefined, 4000);
  paint();
}
