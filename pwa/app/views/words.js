// @ts-check
// The words of the screen in one place: short, the trade's, no jargon.

import { number } from '../marks.js';
import { t, tr, words } from '../tongue.js';

/** The word of a state when the core gives none. @type {Record<string, string>} */
export const stateWord = words({
  open: 'start now', waits: 'from', held: 'stopped by', unknown: 'no reading', done: 'done',
});

/** What a hand says when a step is finished. Steps not named here say their own name.
 * @type {Record<string, string>} */
const finished = words({
  wash: 'Wash finished', wipe: 'Wiped', primer: 'Primed', lay: 'Laid', pull: 'Film off',
  trialstrips: 'Strips pulled', adhesiveoff: 'Glue off', dryfit: 'Hung dry', settle: 'Settled', trim: 'Trimmed',
  strip: 'Trim is off', sealant: 'Sealant cut', filmin: 'Film is in', print: 'Printed', laminate: 'Laminated', callback: 'Called back',
  postheat: 'Post-heated', edgecheck: 'Edges checked', refit: 'Refitted', recheck: 'Checked again', handover: 'Handed over',
});

/** @param {{key?: string, stage?: string, name?: string}} stage */
export function finishedWord(stage) {
  const key = (stage.key ?? stage.stage ?? '').replace(/[^a-z]/g, '');
  return finished[key] ?? t`${stage.name ?? key}: done`;
}

/** @type {Record<string, string>} */
export const roleWord = words({ lead: 'lead', crew: 'installer', prep: 'prep', porter: 'porter', desk: 'desk' });

/** Who signs. @type {Record<string, string>} */
export const signerWord = words({ installer: 'Installer', owner: 'Owner', driver: 'Driver' });

/** What stands over a signature, by the step that it closes: plain sentences,
 * each to be read aloud. Common practice, no source. @type {Record<string, string[]>} */
export const papers = words({
  'paint-risk': ['This paint may come off with the film one day.', 'Nobody can promise how it comes out.'],
  'removal-risk': ['Paint that is not original may come off with the old film.', 'Rust, old lettering and faded paint may show below it.'],
  'film-risk': ['This film is not made for this surface. It may lift there.', 'I want it all the same, at my own risk.'],
  'early-release': ['The film has not rested its hours. Edges may lift.', 'I take the vehicle now, at my own risk.'],
});

/** @type {Record<string, string>} */
export const wipeWord = words({ none: 'not wiped', good: 'wipe good', stale: 'wipe too old', spoiled: 'spoiled, wipe again' });

/** What can be found on a panel. */
export const findingKinds = ['chip', 'rust', 'dent', 'peeling', 'repaint', 'scratch', 'old film', 'raw plastic', 'other'];

/** And at the edges of film that is laid. */
export const edgeKinds = ['edge up', 'overlap up', 'bubble', 'crease', 'cut in the paint', 'other'];

/** About how large, in mm, and what lies in every hand to compare with. @type {[number, string][]} */
export const findingSizes = [[2, 'pin-head'], [5, 'pea'], [20, 'coin'], [50, 'palm'], [100, 'hand'], [300, 'arm']];

/** @type {Record<string, string>} */
export const findingAnswer = words({ '': 'owner must answer', accepted: 'accepted', declined: 'declined, stays bare', repaired: 'repaired', redone: 'done again' });

/** What film on it risks, in the one sentence that the owner signs. Common
 * practice, no source. @type {Record<string, string>} */
export const riskOf = words({
  chip: 'Film over a chip shows it, and may lift there.', rust: 'Rust goes on under film and lifts it: repair first, or leave it bare.',
  dent: 'Film shows every dent.', peeling: 'Film pulls peeling paint off with it.', repaint: 'Repainted areas may come off with the film one day.',
  scratch: 'Film shows a scratch in low light.', 'old film': 'Old film beneath comes off together with the new.', 'raw plastic': 'Film does not hold on raw plastic: no promise there.',
});

/** Words of the two walks. @type {Record<string, any>} */
export const walkWord = words({
  title: 'Look it over', 'check-in': 'at check-in, with the owner', clean: 'on clean paint', 'seen-check-in': 'at check-in', 'seen-clean': 'on clean paint', 'bare-paint': 'on bare paint', 'seen-bare-paint': 'on bare paint', 'seen-edges': 'at the edges',
  hint: 'Touch the drawing where you see something.', none: 'Nothing written down yet. That is not the same as nothing there.',
  add: 'Found something', installer: 'installer', owner: 'owner', 'sign-installer': 'Installer signs', 'sign-owner': 'Owner signs',
  absent: 'Owner not here', again: 'Do it again, then close it', vehicle: 'vehicle', whatSeen: 'What did you see?', touchPanel: 'Touch the panel it is on.', more: 'More, if it helps', photo: 'Photo, light from the side',
  byPhone: 'The owner answered by phone', giveLink: 'Link for the owner', notHere: 'Owner not here.', willNot: 'Owner will not sign.', noteNotHere: 'Owner cannot be reached: note it', noteWillNot: 'Owner will not sign: note it',
  noAnswers: 'Every finding is answered; the signature is missing.', staysHeld: 'The step stays stopped until the owner signs or the lead lets it pass.',
  openAnswers: (/** @type {number} */ n) => (n === 1 ? t`1 finding waits for the owner.` : t`${n} findings wait for the owner.`),
  leaveBare: (/** @type {number} */ n) => (n === 1 ? t`Leave that panel bare for now` : t`Leave those panels bare for now`),
});

/** Words of the order in which panels hang. @type {Record<string, any>} */
export const hangWord = words({ title: 'Hang in this order', fits: 'Fits', over: (/** @type {string} */ under, /** @type {string} */ force) => (force ? t`over ${under}, for ${tr(force)}` : t`over ${under}`) });

/** Words of a side that hangs in drops. @type {Record<string, any>} */
export const dropWord = words({
  title: 'In drops of the roll', side: 'Length of the side', roll: 'Width of the roll', count: 'Count the drops',
  counted: (/** @type {number} */ n) => (n === 1 ? t`1 drop.` : t`${n} drops, the rear one first.`), both: 'Type both, the side and the roll.',
  not: 'A side has 1 to 30 m, a roll 300 to 2000 mm.', away: 'The shop server counts, and cannot be reached.',
});

/** Words of the estimate of a removal. */
export const removalWord = words({ title: 'What the strips tell', rough: 'An estimate. The film tells as it comes off.' });

/** The kinds of the register. @type {Record<string, string>} */
export const instrumentSorts = words({ contact: 'touch probe', infrared: 'infrared', logger: 'taped-on probe', air: 'air' });

/** Instruments a hand holds, where none is in the register. */
export const instruments = [['contact', 'touch'], ['infrared', 'infrared']];

/** Words of readings and of the pad. @type {Record<string, any>} */
export const readWord = words({
  title: 'Readings', next: 'read next', none: 'no reading', notYet: 'not received yet', others: 'The other dots', tests: 'Tests on the vehicle', air: 'Air by hand', minmax: 'Min-max read',
  margin: (/** @type {string} */ spot, /** @type {string} */ by, /** @type {boolean} */ under) => (under ? t`${spot}: ${by} under the dew point.` : t`${spot}: ${by} above the dew point.`),
  noAir: (/** @type {string} */ place) => t`${place}: no reading of the air.`, airNotYet: (/** @type {string} */ place) => t`${place}: air not received yet.`,
  withWhat: 'read with?', due: 'check is old', infrared: 'Bare metal mirrors the room: read on paint, or on a square of matt tape.', set: 'set to',
});

/** What an infrared thermometer can be set to. */
export const emissivities = ['0.95', '0.92', '1.00'];

/** @type {Record<string, string>} */
export const sortWord = words({ bay: 'bay', yard: 'yard', outside: 'outside' });

/** The setbacks that a hand meets most, first; the others fold away. */
export const oftenSpoiled = 'touched door-open rain wet-again drip'.split(' ');

/** Words on the vehicle's drawing. */
export const mapWord = words({ title: 'Panels in hang order', laid: 'laid', bare: 'stays bare', front: 'front', found: 'Something found:' });

/** Words of the answer. */
export const answerWord = words({
  all: 'All steps', waits: 'waits', notYet: 'not received yet', passed: "lead's go-ahead", asleep: 'Asleep, a phone cannot ring. Look again then.',
  of: (/** @type {string} */ got, /** @type {string} */ all) => t`${got} of ${all}`,
  from: (/** @type {string} */ time) => t`from ${time}`,
  start: (/** @type {string} */ step) => t`Start now: ${step}.`,
  counting: (/** @type {string} */ got, /** @type {string} */ all) => t`${got} of ${all}, counting`,
  paused: (/** @type {string} */ got, /** @type {string} */ all) => t`${got} of ${all}, paused`,
  notStarted: (/** @type {string} */ got, /** @type {string} */ all) => t`${got} of ${all}, not started`,
});

/** Words of the list of vehicles. */
export const homeWord = words({
  nowhere: 'no place', promised: 'promised', opening: 'Opening what this phone holds.', slow: 'This takes longer than it should. Close the app and open it again.', onlyHere: (/** @type {number} */ n) => t`${n} only on this phone`,
});

/** Words of 'hold all'. */
export const holdWord = words({
  title: 'Hold all', backBy: 'Back by', back: 'I am back', allGood: 'all still good', nothing: 'Nothing on this vehicle runs out. Take your time.',
  goesOn: 'Hours that count go on by themselves. Nothing is written.',
  wipeAgain: (/** @type {number} */ n) => (n === 1 ? t`wipe 1 panel again` : t`wipe ${n} panels again`),
});

/** The drawing on the button of what spoiled it. @type {Record<string, string>} */
export const spoiledShape = {
  touched: 'hand', 'door-open': 'door', rain: 'rain', 'wet-again': 'drop', drip: 'drip', 'cold-outside': 'move', silicone: 'air', dust: 'air',
  sweat: 'drop', 'water-tracked-in': 'drop', 'trim-refitted': 'dot',
};

/** Words of how large a vehicle is. */
export const sizeWord = words({
  length: 'Length over all', height: 'Height, with what stands on its roof', why: 'It is asked before it goes into a bay. Leave open what nobody knows.',
  usual: (/** @type {string} */ l, /** @type {string} */ h) => t`About as usual: ${l} long, ${h} high`, number: 'Type both as numbers, such as 6.9.', kept: (/** @type {string} */ label) => t`Noted: size of ${label}.`, keep: 'Keep its size',
});

/** Words of a move. */
export const moveWord = words({
  title: (/** @type {string} */ label) => t`${label} moved to`, ask: 'One tap: where it stands now, and the road to there.',
  roads: { no: 'dry road', yes: 'wet road', unknown: 'not seen' },
  wet: 'Wet is rain, snow, a wet road or a drip from the roof of the gate.', caution: 'One mover, one watcher, horn, keys on the board.',
});

/** Words of a vehicle's screen. */
export const jobWord = words({ vehicle: 'Vehicle', all: 'All vehicles', looking: 'Looking on this phone for the vehicle.', notHere: 'This phone does not have it yet. It comes when the shop is in reach.' });

/** Words of this phone's own page. How a home screen takes an app, and that its
 * store begins empty there, is from memory. */
export const phoneWord = words({
  title: 'This phone', only: 'Only on this phone', keep: 'Does it keep them?', install: 'On the home screen', version: 'Version',
  saveWaiting: 'Save waiting lines as a file', saveAll: 'Save all lines of this phone as a file',
  persisted: 'This phone keeps the lines until you delete the app.',
  notPersisted: 'This phone may clear the app to make room.', notPersistedOut: 'It does so after weeks without use. Put the app on the home screen, or ask.',
  persist: 'Ask the phone to keep it', persistNo: 'The phone said no. Put the app on the home screen and ask again.',
  spare: 'A line that waits stands here twice.',
  why: 'From there it opens like any app, and its lines are kept.', atHome: 'The app runs from the home screen.', putThere: 'Put it on the home screen',
  menu: 'Open the browser\'s menu and choose "Install" or "Add to home screen".',
  steps: ['Touch the sharing sign: a box with an arrow up.', 'Scroll down and touch "Add to Home Screen".', 'Touch "Add", then open it from there.'],
  startsEmpty: 'It starts empty there and fetches all from the shop.', sendFirst: ' First let the waiting lines go.',
  ready: 'New version ready. It starts when nothing is under way.', startNow: 'Start it now', noNewer: 'This is the newest that this phone knows.', runs: 'Version',
  notNow: 'Not now: another tab of the app is at work. Finish there.',
});

/** Words of what a person chooses for themselves. @type {Record<string, any>} */
export const ownWord = words({
  title: 'Language and units', degrees: 'Degrees', lengths: 'Lengths', shop: 'as the shop', cannot: 'That language is not on this phone yet. Go where the shop is in reach.',
  of: (/** @type {string} */ name) => t`For ${name} on this phone.`, nobody: 'For this phone, while nobody is tapped.',
});

/** Words of a spoken note. */
export const voiceWord = words({
  title: 'Voice note', says: 'Speak for up to a minute. It is kept when you stop.', record: 'Record', stop: 'Stop and keep', of: ' of 60 s',
  kept: 'Voice note on this phone. It goes to the shop by itself.', notHere: 'This voice note is not on this phone. Play it when the shop is in reach.',
  notAllowed: 'The phone refused the microphone. Allow it, or write a note.', none: 'No microphone answers. Write a note.',
});

/** Words of the lamp. */
export const lampWord = words({
  title: 'Lamp', none: 'This phone does not let the app light its lamp.', notAllowed: 'The phone refused the camera, and its lamp with it.',
});

/** Words of the board. */
export const boardWord = words({ opening: 'Opening the board from this phone.', notHere: 'Nothing on this phone yet. It comes when the shop is in reach.' });

/** Words of the gun's pace. @type {Record<string, any>} */
export const paceWord = words({
  title: 'Gun', all: 'All that is left', other: 'Another length', pace: 'Pace', go: 'Gun starts', goOn: 'Go on', pause: 'Pause', film: 'Read the film', read: 'Film read:', part: 'A part',
  done: 'All of it', not: 'Not heated', rivets: 'rivets', guns: 'Guns', far: 'How far is it?', behind: 'Film, just behind the nozzle', notRead: 'Not read', nothing: 'Nothing heated yet. Start the gun, or count rivets.',
  dot: 'The dot moves as the nozzle should: a foot from end to end.',
  inch: (/** @type {number} */ s) => t`1 inch in ${number(s)} s`, of: (/** @type {string} */ all) => t`of ${all}`, before: (/** @type {string} */ did, /** @type {string} */ all) => t`${did} of ${all} heated before.`,
  left: (/** @type {string} */ did, /** @type {string} */ all) => t`Gun paused at ${did} of ${all}.`, noted: (/** @type {string} */ far) => t`Noted: ${far} heated.`,
});

/** Words of the shop's numbers and steps. @type {Record<string, any>} */
export const rulesWord = words({
  title: 'Numbers', steps: 'Job steps', own: "the shop's own", usually: 'usually', change: 'Change it', taken: 'This job goes by the new ones.', stepsNoted: "The shop's own steps are written.",
  lead: 'Touch a number to change it. New jobs go by it.', others: 'The lead can change these.', newer: 'Newer numbers or steps', keeps: 'This job keeps what it began with.', take: 'Take the new ones', why: 'Why, in a sentence',
  order: 'the order here is the order of work.', dropped: 'Left out', add: 'Add a step of your own', addIt: 'Add it', saveSteps: 'These are our steps', name: 'What is it called?', caution: 'One caution line, if it needs one', per: 'How often', below: 'After which step?', needsName: 'Give the step a name.',
  now: (/** @type {string} */ n) => t`Now ${n}.`, noted: (/** @type {string} */ n) => t`Noted: ${n} from now on.`,
});

/** Words of what the film has to follow. @type {Record<string, any>} */
export const stretchWord = words({
  bridged: 'Bridged it stretches', floor: 'floor first it draws in', near: 'A millimetre matters: measure again.', look: 'Look at it the next day.',
  primer: (/** @type {string} */ where) => t`Primer: ${where}.`,
});

/** The words of the lead's screens. @type {Record<string, any>} */
export const leadWord = words({
  plan: 'Plan', walk: 'Closing walk', find: 'Find a vehicle', learn: 'What we learn', propose: 'Next', night: 'The night', opens: 'When it may open', holds: 'promise holds', tonight: 'tonight',
  asking: 'Asking the shop server.', noSignal: 'The shop server cannot be reached. This needs it once.',
  rests: 'A proposal. It rests on usual times and on the forecast.', allSeen: 'Everything seen. Good night.',
  asOf: (/** @type {string} */ time) => t`As of ${time}, from the shop server. It cannot be reached.`, was: (/** @type {string} */ time) => t`As of ${time}, from the shop server.`,
  since: (/** @type {string} */ time) => t`This phone has newer lines, ${time}.`, check: 'Check these instruments', tooLarge: 'No bay is large enough.', fits: (/** @type {string} */ label) => t`How long and high is ${label}?`,
  late: (/** @type {string} */ by) => t`${by} late`, ends: (/** @type {string} */ time) => t`Hand-over ${time}`, promised: (/** @type {string} */ time) => t`promised ${time}`,
  left: (/** @type {number} */ n) => (n === 1 ? t`1 thing to look at.` : t`${n} things to look at.`),
  next: (/** @type {string} */ time) => t`Next working moment ${time}.`,
  alarm: { heater: 'Heat lost', margin: 'Margin falls', door: 'Door open', silent: 'Logger silent' },
  again: 'Dry again if it goes in:', may: { yes: 'stays dry', close: 'only just dry', no: 'better not', other: 'no reading', asking: 'asking', none: 'no answer' },
  stage: (/** @type {string} */ key) => (key ? tr(key[0].toUpperCase() + key.slice(1).replace(/-/g, ' ')) : ''),
});

/** The words of the look-up. @type {Record<string, any>} */
export const lookWord = words({
  title: 'Find a vehicle', what: 'Plate, name, film batch or day (2026-11-28)', look: 'Look', asking: 'Looking', cannot: 'The shop server cannot be reached. Looking needs it.',
  paper: 'Vehicle record', folder: 'Record with photos', open: 'Open',
  found: (/** @type {number} */ n, /** @type {string} */ to) => (n === 0 ? t`Nothing for "${to}". Try less of it.` : n === 1 ? t`One vehicle for "${to}".` : t`${n} vehicles for "${to}".`),
  more: (/** @type {number} */ n) => t`${n} more, older. Type another word.`,
  stay: (/** @type {string} */ from, /** @type {string} */ to) => (from === to ? from : t`${from} to ${to}`), since: (/** @type {string} */ from) => t`Here since ${from}.`,
});

/** The words of a bay's picture. @type {Record<string, any>} */
export const airWord = words({
  title: (/** @type {string} */ name) => t`${name}: air`, none: 'The shop server has not told this bay yet.', asOf: (/** @type {string} */ time) => t`As of ${time}, from the shop server.`, here: (/** @type {string} */ air, /** @type {string} */ dew, /** @type {string} */ time) => t`On this phone: air ${air}, dew point ${dew}, ${time}.`,
  air: 'air', dew: 'dew point', outside: 'outside', window: 'window to lay', counted: 'hours that counted', range: 'forecast, with its range',
  spot: (/** @type {string} */ who) => (who ? t`coldest spot of ${who}` : t`coldest spot`),
  say: (/** @type {any} */ a, /** @type {string} */ air, /** @type {string} */ dew) => t`${a.name}: a day of its climate and twelve hours ahead. Air ${air}, dew point ${dew}.`,
});
