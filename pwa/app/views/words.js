// @ts-check
// The words of the screen in one place: short, the trade's, no jargon.

/** The word of a state when the core gives none. @type {Record<string, string>} */
export const stateWord = {
  open: 'start now', waits: 'from', held: 'stopped by', unknown: 'no reading', done: 'done',
};

/** What a hand says when a step is finished. Steps not named here say their own name.
 * @type {Record<string, string>} */
const finished = {
  wash: 'Wash finished', wipe: 'Wiped', primer: 'Primed', lay: 'Laid', pull: 'Film off',
  trialstrips: 'Strips pulled', adhesiveoff: 'Glue off', dryfit: 'Hung dry', settle: 'Settled', trim: 'Trimmed',
  postheat: 'Post-heated', edgecheck: 'Edges checked', refit: 'Refitted', recheck: 'Checked again', handover: 'Handed over',
};

/** @param {{key?: string, stage?: string, name?: string}} stage */
export function finishedWord(stage) {
  const key = (stage.key ?? stage.stage ?? '').replace(/[^a-z]/g, '');
  return finished[key] ?? (stage.name ?? key) + ': done';
}

/** @type {Record<string, string>} */
export const roleWord = { lead: 'lead', crew: 'installer', prep: 'prep', porter: 'porter', desk: 'desk' };

/** @type {Record<string, string>} */
export const wipeWord = { none: 'not wiped', good: 'wipe good', stale: 'wipe too old', spoiled: 'spoiled, wipe again' };

/** What can be found on a panel. */
export const findingKinds = ['chip', 'rust', 'dent', 'peeling', 'repaint', 'scratch', 'old film', 'other'];

/** @type {Record<string, string>} */
export const findingAnswer = { '': 'owner must answer', accepted: 'accepted', declined: 'declined, stays bare', repaired: 'repaired' };

/** Instruments a hand holds. */
export const instruments = [['contact', 'touch'], ['infrared', 'infrared']];

/** @type {Record<string, string>} */
export const sortWord = { bay: 'bay', yard: 'yard', outside: 'outside' };

/** The setbacks that a hand meets most, first; the others fold away. */
export const oftenSpoiled = ['touched', 'door-open', 'lunch', 'rain', 'wet-again', 'drip'];
