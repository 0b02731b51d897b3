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
export const oftenSpoiled = ['touched', 'door-open', 'rain', 'wet-again', 'drip'];

/** Words on the vehicle's drawing. */
export const mapWord = { title: 'Panels in hang order', laid: 'laid', front: 'front', found: 'Something found:' };

/** Words of the answer. */
export const answerWord = {
  all: 'All steps', waits: 'waits', passed: "lead's go-ahead", asleep: 'Asleep, a phone cannot ring. Look again then.',
  of: (/** @type {string} */ got, /** @type {string} */ all) => `${got} of ${all}`,
  start: (/** @type {string} */ step) => `Start now: ${step}.`,
  counted: (/** @type {string} */ got, /** @type {string} */ all, /** @type {string} */ how) => `${got} of ${all}, ${how === 'running' ? 'counting' : how}`,
};

/** Words of the list of vehicles. */
export const homeWord = {
  nowhere: 'no place', promised: 'promised', onlyHere: (/** @type {number} */ n) => `${n} only on this phone`,
};

/** Words of 'hold all'. */
export const holdWord = {
  title: 'Hold all', backBy: 'Back by', back: 'I am back', allGood: 'all still good', nothing: 'Nothing on this vehicle runs out. Take your time.',
  goesOn: 'Hours that count go on by themselves. Nothing is written.',
  wipeAgain: (/** @type {number} */ n) => `wipe ${n} ${n === 1 ? 'panel' : 'panels'} again`,
};

/** The drawing on the button of what spoiled it. @type {Record<string, string>} */
export const spoiledShape = {
  touched: 'hand', 'door-open': 'door', rain: 'rain', 'wet-again': 'drop', drip: 'drip', 'cold-outside': 'move', silicone: 'air', dust: 'air',
  sweat: 'drop', 'water-tracked-in': 'drop', 'trim-refitted': 'dot',
};
