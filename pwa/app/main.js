// @ts-check
// Starts the page: the door to the worker, the screens by address, painting.
// Data goes one way: tap, intent, worker, view, paint.

import { connect } from './messenger.js';
import * as edition from './edition.js';
import { onOffer } from './install.js';
import { spoken } from './door.js';
import { meet, onOther, settle } from './own.js';
import { html, nothing, render, sentence, t, tr } from './tongue.js';
import { app, onPaint, paint, viewOf } from './views/app.js';
import { leaving, returned } from './views/away.js';
import { noted as note } from './views/acts.js';
import { inBits } from './views/bits.js';
import { boardDock, boardScreen } from './views/board.js';
import { cameraOpen, resume } from './views/camera.js';
import { closeJobSheet } from './views/close.js';
import { noted } from './views/dock.js';
import { evidenceSheet } from './views/evidence.js';
import { flatsSheet } from './views/flats.js';
import { formSheet } from './views/form.js';
import { goAheadSheet } from './views/goahead.js';
import { holdSheet } from './views/hold.js';
import { homeDock, homeScreen } from './views/home.js';
import { absentSheet, findingSheet } from './views/inspection.js';
import { dock, jobDock, jobScreen } from './views/job.js';
import { listen } from './views/keys.js';
import { moveSheet } from './views/move.js';
import { arriving } from './views/net.js';
import { newJobDock, newJobScreen } from './views/newjob.js';
import { noteSheet } from './views/note.js';
import { pad } from './views/pad.js';
import { phoneSheet } from './views/phonebook.js';
import { airScreen, planScreen, walkScreen } from './views/lead.js';
import { phoneScreen } from './views/thisphone.js';
import { paceSheet } from './views/pace.js';
import { panelSheet } from './views/panel.js';
import { refuseSheet } from './views/refuse.js';
import { minMaxSheet } from './views/readings.js';
import { pinSheet } from './views/rights.js';
import { say } from './views/said.js';
import { setupScreen } from './views/setup.js';
import { change, clockRuns, keepAwake, ring } from './views/signals.js';
import { whichSheet } from './views/setbacks.js';
import { paintSheet } from './views/sheet.js';
import { feel, hold } from './views/still.js';
import { newerSheet, ownStepSheet, ruleSheet, rulesScreen, stepsDock, stepsScreen } from './views/rules.js';
import { signSheet } from './views/signature.js';
import { voiceSheet } from './views/voice.js';
import { whoSheet } from './views/who.js';
import { unpack } from './views/work.js';

const bare = () => html`<main class="screen"></main>`;
const away = () => html`<main class="screen"><p class="lap fact">The shop is out of reach.</p></main>`;

/** What each address shows, what lies under the thumb there, and which views
 * of the worker it needs beside 'home'.
 * @type {Record<string, {screen: () => unknown, dock?: () => unknown, needs?: string[], title: string}>} */
const screens = {
  home: { screen: homeScreen, dock: homeDock, title: 'Vehicles' },
  job: { screen: jobScreen, dock: jobDock, needs: ['job'], title: 'Vehicle' },
  board: { screen: boardScreen, dock: boardDock, needs: ['board'], title: 'Board' },
  air: { screen: airScreen, needs: ['board'], title: 'Air' },
  plan: { screen: planScreen, title: 'Plan' },
  walk: { screen: walkScreen, title: 'Closing walk' },
  find: { screen: bare, title: 'Find a vehicle' },
  learn: { screen: bare, title: 'What we learn' },
  setup: { screen: setupScreen, needs: ['setup', 'board'], title: 'Shop' },
  new: { screen: newJobScreen, dock: newJobDock, title: 'New vehicle' },
  phone: { screen: phoneScreen, title: 'This phone' },
  rules: { screen: rulesScreen, needs: ['rules'], title: 'Numbers and steps' },
  steps: { screen: stepsScreen, dock: stepsDock, needs: ['rules'], title: 'Job steps' },
  parts: { screen: bare, title: 'Parts' },
  join: { screen: bare, title: 'Join the shop' },
  phones: { screen: bare, title: 'Phones' },
  moved: { screen: bare, title: 'New address' },
  instruments: { screen: bare, title: 'Instruments' },
  hours: { screen: bare, title: 'Hours and bays' },
  check: { screen: bare, title: 'Check a record' },
  owner: { screen: bare, needs: ['job'], title: 'Link for the owner' },
  late: { screen: bare, needs: ['job'], title: 'From the card' },
};

const sheets = {
  pad, form: formSheet, pace: paceSheet, refuse: refuseSheet, rule: ruleSheet, newer: newerSheet, ownstep: ownStepSheet, panel: panelSheet, evidence: evidenceSheet, finding: findingSheet, sign: signSheet, goahead: goAheadSheet,
  flats: flatsSheet, move: moveSheet, note: noteSheet, minmax: minMaxSheet, who: whoSheet, which: whichSheet, phone: phoneSheet, close: closeJobSheet, voice: voiceSheet, hold: holdSheet, absent: absentSheet, pin: pinSheet,
};

const page = /** @type {HTMLElement} */ (document.getElementById('page'));
const under = /** @type {HTMLElement} */ (document.getElementById('dock'));

/** Only a job's view is one of several. @param {string} name @param {string} id */
const ofView = (name, id) => (name === 'job' ? id : '');

/** Screens that are fetched when somebody goes there: they take the shop in reach
 * anyway, or are for those who make the app.
 * @type {Record<string, () => Promise<() => unknown>>} */
const fetched = {
  find: async () => (await import('./views/lookup.js')).lookUpScreen,
  learn: async () => (await import('./views/learn.js')).learnScreen,
  parts: async () => (await import('./views/parts.js')).partsScreen,
  join: async () => (await import('./views/joining.js')).joinScreen,
  phones: async () => (await import('./views/phones.js')).phonesScreen,
  moved: async () => (await import('./views/moved.js')).movedScreen,
  instruments: async () => (await import('./views/instruments.js')).instrumentsScreen,
  hours: async () => (await import('./views/hours.js')).hoursScreen,
  check: async () => (await import('./views/checkrecord.js')).checkScreen,
  late: async () => (await import('./views/late.js')).lateScreen,
  owner: async () => (await import('./views/ownerlink.js')).ownerLinkScreen,
};

/** Reads the address: #/, #/job/ID, #/rules, #/steps/ROUTE, #/board, #/find/WORDS, #/learn, #/setup, #/instruments, #/hours, #/new, #/phone, #/join/TOKEN, #/phones, #/moved, #/check, #/late/ID, #/owner/ID, #/parts. */
async function follow() {
  const [, name = '', id = ''] = location.hash.split('/');
  const before = app.route;
  app.route = { name: name in screens ? name : 'home', id };
  app.sheet = null;
  app.refused = '';
  const now = screens[app.route.name];
  await fetchScreen(app.route.name);
  const moved = before.name !== app.route.name || before.id !== id;
  for (const name of now.needs ?? []) app.shop.ask('view', { name, id: ofView(name, id) }).catch(fault);
  for (const name of (moved && screens[before.name].needs) || []) {
    if (ofView(name, before.id) !== ofView(name, id) || !now.needs?.includes(name)) app.shop.ask('unview', { name, id: ofView(name, before.id) }).catch(() => {});
  }
  paint();
  if (moved) {
    scrollTo(0, 0);
    requestAnimationFrame(() => page.querySelector('h1')?.focus({ preventScroll: true }));
  }
}

/** @param {string} name */
async function fetchScreen(name) {
  const get = fetched[name];
  if (!get) return;
  try {
    screens[name].screen = await get();
    delete fetched[name];
  } catch {
    screens[name].screen = away;
  }
}

function draw() {
  const home = viewOf('home');
  // A phone without a shop starts with setting one up.
  let name = home?.shop?.set === false && ['home', 'new'].includes(app.route.name) ? 'setup' : app.route.name;
  if (name === 'setup' && !home?.shop?.set && home?.net?.role === 'none') {
    name = 'join';
    if (screens.join.screen === bare) fetchScreen(name).then(paint);
  }
  const now = screens[name];
  hold();
  const more = inBits(`${name}:${app.route.id}`, () => render(html`${app.fault ? html`<p class="refused" data-testid="fault"><span class="grow">${app.fault}</span>
    <button type="button" class="press" @click=${() => { app.fault = ''; paint(); }}>Seen</button></p>` : nothing}${now.screen()}`, page), paint);
  if (more) app.shop.drawing();
  render(name === 'job' ? now.dock?.() : html`${noted()}${now.dock ? dock(now.dock()) : nothing}`, under);
  paintSheet(sheets);
  keepAwake(name === 'job' ? viewOf('job', app.route.id) : null);
  const job = name === 'job' ? viewOf('job', app.route.id)?.label : '';
  tellEdition();
  edition.settle();
  document.title = (job || tr(now.title)) + ' · ' + (home?.shop?.name || 'Bayhold');
}

/** @param {any} error */
function fault(error) {
  app.fault = sentence(error?.text ?? String(error?.message ?? error));
  say(app.fault);
  paint();
}

/** Whether a new version has to wait: something is open, typed, running or
 * being written. A running clock is to ring, and a page that was not touched
 * cannot. */
const busy = () => !!app.sheet || !!app.noted?.id || !!app.again || app.away.length > 0 || ['new', 'setup', 'steps', 'join', 'instruments', 'hours'].includes(app.route.name) ||
  app.shop.writing() || cameraOpen() || (app.route.name === 'job' && clockRuns(viewOf('job', app.route.id)));

let toldEdition = false;

/** Says once that a new version is there, where nothing moves for it. */
function tellEdition() {
  if (toldEdition || app.noted || !edition.waiting()) return;
  toldEdition = true;
  note(t`New version ready. It starts when nothing is under way.`);
}

/** What the last answer on screen was, to say it when it changes by itself. */
let answered = '';

/** @param {{name: string, id?: string, view: any, stale?: boolean}} data stale: painted from the last visit, before the core runs */
function came({ name, id, view, stale }) {
  if (!view || (stale && !view.shop?.set)) return; // an empty shop of long ago is no news
  Object.assign(view, { came: performance.now(), stale });
  spoken(view);
  if (name === 'job') unpack(view);
  if (!stale) arriving(view);
  const key = name + ':' + (name === 'job' ? id || view.id : '');
  const before = app.views[key];
  app.views[key] = view;
  // Only what the core itself changed rings, not what a tap here just did.
  if (name === 'job' && before && !stale && !app.noted?.id) ring(change(before, view));
  if (name === 'home') meet(view.me?.id ?? '');
  if (name === 'home' && !stale) returned();
  if (name === 'job' && view.id === app.route.id && view.gate) {
    const now = `${view.gate.name}: ${view.gate.word}.`;
    if (answered && answered !== now) say(now);
    answered = now;
  }
  setTimeout(paint); // reading it was a task, drawing it is another
}

/** All that was said is said again: in another tongue, or in other units. */
function anew() {
  under.setAttribute('aria-label', t`The next thing`);
  for (const key of Object.keys(app.views)) {
    const [name, id] = key.split(':');
    if (name === 'home' || screens[app.route.name].needs?.includes(name)) app.shop.ask('view', { name, id: ofView(name, id) }).catch(fault);
  }
  paint();
}

/** Clocks on screen go on between two views. */
const repaint = 10_000;

async function start() {
  app.shop = connect();
  await new Promise((resolve) => setTimeout(resolve)); // reading this script was a task, what it begins is another
  onOther(anew);
  await settle();
  under.setAttribute('aria-label', t`The next thing`);
  onPaint(draw);
  feel(page);
  new ResizeObserver(([dock]) => { page.style.marginBottom = `${dock.borderBoxSize[0].blockSize}px`; }).observe(under); // the last row scrolls clear of it
  app.shop.on('view', came);
  app.shop.on('fault', fault);
  app.shop.on('ended', edition.look);
  app.shop.ask('view', { name: 'home', id: '' }).catch(fault);
  addEventListener('hashchange', follow);
  listen();
  document.addEventListener('visibilitychange', () => { if (document.hidden) leaving(), edition.settle(); else returned(), paint(); });
  addEventListener('pagehide', leaving);
  setInterval(paint, repaint);
  setTimeout(paint, 5100); // net.js stops waiting for the first contact then
  follow();
  resume();
  onOffer(paint);
  if (edition.justStarted()) note(t`The new version runs.`);
  edition.follow(busy, paint);
}

start();

// The page's own state and doors, for whoever looks in from a console.
export * from './views/app.js';
export { connect, edition };
export { write } from './views/acts.js';
