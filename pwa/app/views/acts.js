// @ts-check
// Taps become intents here, and nowhere else. The worker answers with the
// line's identity, or with one sentence that says why not.

import { sentence, t } from '../tongue.js';
import { marks } from '../marks.js';
import { app, closeSheet, home, now, openSheet, paint } from './app.js';
import { barred, pinFirst } from './rights.js';
import { say, alarm } from './said.js';

/** Undo stays this long: longer where hands wear gloves. */
const BARE = 10_000, GLOVED = 60_000;

/** @param {{kind: string}} line */
const gloved = (line) => ['tick', 'reading', 'setback', 'evidence', 'place.event', 'climate.reading', 'job.move', 'finding', 'finding.answer'].includes(line.kind);

/** The logbook of a job or of a place. @param {string} id */
export const ofJob = (id) => ({ class: 'j', id });
/** @param {string} id */
export const ofPlace = (id) => ({ class: 'p', id });
export const ofShop = () => ({ class: 's', id: '' });

/**
 * Writes one line, or one for each of several bodies, all or none. Answers true
 * when it is stored on this phone.
 * @param {{log: any, kind: string, body: any, bodies?: any[], strikes?: any[], sure?: boolean}} line
 * @param {string} words what the person reads when it is stored
 */
export async function write(line, words) {
  app.refused = '';
  app.again = null;
  if (!home()?.me && home()?.people?.length) { // a line needs a name: touch it, and the line is written
    openSheet('who', { then: () => write(line, words) });
    return false;
  }
  if (barred(line.kind === 'finding.answer' && line.body.answer !== 'redone' ? 'finding.owner' : line.kind) === '') {
    pinFirst(() => write(line, words));
    return false;
  }
  let answer;
  try {
    const { bodies, ...one } = line;
    answer = await app.shop.ask('write', bodies ? { lines: bodies.map((body) => ({ ...one, body })) } : one);
  } catch (error) {
    answer = { refused: t`Not stored. ${sentence(String(error instanceof Error ? error.message : error))}` };
  }
  if (answer.refused) {
    refuse(answer.refused, answer.ask && (async () => { if (await write({ ...line, sure: true }, words)) closeSheet(); }));
    return false;
  }
  noted(words, answer.log ?? line.log, line.bodies ? answer.ids : answer.id, gloved(line) ? GLOVED : BARE);
  return true;
}

/** Shows the sentence that refused; a question can be answered 'yes'.
 * @param {string} said @param {(() => void) | false | null} [again] */
export function refuse(said, again) {
  app.refused = sentence(said);
  app.again = again || null;
  alarm(marks(app.refused, home()?.shop ?? {}, now(home())));
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
  await strike(last.log, last.id, t`Taken back.`);
}

/** @param {any} log @param {{writer: string, seq: number} | {writer: string, seq: number}[]} id of one line, or of several @param {string} words @param {boolean} [others] another's line, for a lead */
export async function strike(log, id, words, others) {
  if (others && barred('strike') === '') return pinFirst(() => strike(log, id, words));
  const answer = Array.isArray(id) ? await app.shop.ask('write', { log, kind: 'strike', body: {}, strikes: id }) : await app.shop.ask('undo', { log, writer: id.writer, seq: id.seq });
  if (answer?.refused) refuse(answer.refused);
  else noted(words, undefined, undefined, 4000);
  paint();
}
