// @ts-check
// One sound and one buzz, and only while the page is seen: when a wait ends,
// when work that was open is stopped, when a wipe on it runs out. Nothing pops
// up: hands are on film. The screen stays awake while such a clock runs.

import { app, now } from './app.js';

/** @type {AudioContext | null} made at the first touch, as browsers want it */
let sound = null;
addEventListener('pointerdown', () => { sound ??= globalThis.AudioContext ? new AudioContext() : null; }, { once: true });

/** What of a job can call for a hand, at a moment.
 * @param {any} job @param {number} at */
const told = (job, at) => ({
  state: job.gate?.state ?? '',
  wiped: (job.panels ?? []).filter((/** @type {any} */ p) => p.gate && p.wipe?.state === 'good' && p.wipe.until > at).map((/** @type {any} */ p) => p.id),
});

/** Compares two views of the same job. Answers 'up' when a wait ended, 'down'
 * when something that was good is not, '' when there is nothing to tell.
 * @param {any} before @param {any} after */
export function change(before, after) {
  const b = told(before, before.now), a = told(after, after.now);
  if (b.state === 'waits' && a.state === 'open') return 'up';
  if (b.state === 'open' && ['held', 'unknown'].includes(a.state)) return 'down';
  const gone = (/** @type {any} */ id) => (after.panels ?? []).some((/** @type {any} */ p) => p.id === id && p.gate && p.wipe?.state !== 'good');
  return b.wiped.some(gone) ? 'down' : '';
}

/** @param {string} what 'up' or 'down' */
export function ring(what) {
  if (!what || document.hidden) return;
  navigator.vibrate?.(what === 'up' ? 200 : [300, 150, 300]);
  if (!sound) return;
  const tone = sound.createOscillator(), level = sound.createGain();
  tone.frequency.setValueAtTime(what === 'up' ? 660 : 520, sound.currentTime);
  tone.frequency.setValueAtTime(what === 'up' ? 880 : 350, sound.currentTime + 0.25);
  level.gain.setValueAtTime(0.3, sound.currentTime);
  level.gain.exponentialRampToValueAtTime(0.001, sound.currentTime + 0.6);
  tone.connect(level).connect(sound.destination);
  tone.start();
  tone.stop(sound.currentTime + 0.6);
}

/** Whether a clock of this job runs that may ring soon, or a gun is paced. @param {any} job */
export const clockRuns = (job) => !!job && (app.gun || told(job, now(job)).wiped.length > 0 || (job.gate?.state === 'waits' && job.gate.until - now(job) < 3_600_000));

/** One short click: the gun passed an inch. @param {number} [hz] */
export function click(hz = 880) {
  if (document.hidden) return;
  navigator.vibrate?.(hz < 880 ? 200 : 20);
  if (!sound) return;
  const tone = sound.createOscillator(), level = sound.createGain();
  tone.frequency.value = hz;
  level.gain.setValueAtTime(0.2, sound.currentTime);
  level.gain.exponentialRampToValueAtTime(0.001, sound.currentTime + 0.08);
  tone.connect(level).connect(sound.destination);
  tone.start();
  tone.stop(sound.currentTime + 0.08);
}

/** @type {any} */
let awake = null;

/** Keeps the screen awake while a clock of this job runs, where the browser can.
 * @param {any} job or nothing, when no job is on screen */
export async function keepAwake(job) {
  const wanted = !document.hidden && clockRuns(job);
  if (wanted === !!awake || !('wakeLock' in navigator)) return;
  const lock = awake;
  awake = wanted ? await navigator.wakeLock.request('screen').catch(() => null) : null;
  if (awake) awake.onrelease = () => { awake = null; };
  if (!wanted) await lock?.release().catch(() => {});
}
