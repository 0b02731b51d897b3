// @ts-check
// Every part in every state on one page, with invented data: the system that
// all screens are built from. A designer looks here before changing anything,
// and the screenshot tests after.

import { html } from '../vendor/lit-html.js';
import { answer, counted, short } from './answer.js';
import { bodies } from './bodies.js';
import { refusal } from './dock.js';
import { lightSwitch } from './home.js';
import { map, silhouette, walkMap } from './map.js';
import { netMark } from './net.js';
import { pinShape } from './pins.js';
import { gate, gates, NOW, panels } from './samples.js';
import { drawn, roll, shape, state } from './shapes.js';
import { sorts } from './vehicles.js';
import { findingAnswer } from './words.js';

const H = 3_600_000, M = 60_000;

/** @param {string} title @param {unknown} inner @param {string} [says] */
const part = (title, inner, says = '') => html`<section class="lap stack" aria-label=${title}><h2>${title}</h2>${says ? html`<p class="quiet">${says}</p>` : ''}${inner}</section>`;

/** A sample view whose clock stands at the invented Wednesday. @param {any} more */
const sample = (more = {}) => ({ now: NOW, came: performance.now(), shop: { set: true, name: 'Tarnbrook Six', units: 'C', zone: 'Europe/Berlin' },
  net: { online: true, since: NOW, waiting: 0 }, id: 'job-V1', label: 'V1', vehicle: 'long high-roof van', gate: gates.V1, panels: panels.V1, spots: [], findings: [], stages: [], ...more });

/** The colours by their meaning; each is used with its ink. */
const colours = [
  ['ground', 'the liner'], ['sheet', 'what lies on it'], ['ink', 'words'], ['tape', 'names of places, dots to read'], ['go', 'start now, the next thing'],
  ['wait', 'a time to wait for'], ['stop', 'stopped, too old, spoiled'], ['none', 'nobody read it'], ['done', 'done'], ['film', 'laid, counted'], ['wet', 'wiped'],
];

const sizes = [['digits', '12:20', 'digits, from 2 m'], ['word', 'start now', 'the answer'], ['label', 'V5', 'a name'], ['fact big', 'Read the rear left sill.', 'the fact at hand'],
  ['fact', 'Wet: sill 7.6 °C.', 'a fact in a list'], ['', 'Swap the flame heater.', 'body'], ['small quiet', 'Bay 4, 08:00, J', 'beside it']];

/** A vehicle with a panel in each state. */
const everyState = () => {
  const g = (/** @type {string} */ s) => gate('lay', 'Lay', s, '');
  const states = [g('unknown'), g('held'), null, g('open'), g('open'), g('waits'), null, g('open'), g('open'), g('open')];
  const wipes = ['none', 'none', 'none', 'none', 'good', 'none', 'none', 'stale', 'spoiled', 'good'];
  return sample({ panels: panels.V1.map((/** @type {any} */ p, /** @type {number} */ i) => ({ ...p, zone: '', gate: states[i], wipe: { state: wipes[i], until: NOW + (i === 9 ? 4 : 22) * M } })) });
};

export function partsScreen() {
  const view = sample();
  const answers = [gates.V1, gates.V3, gates.V5, gates.V2, gates.V6];
  const found = ['', 'accepted', 'declined', 'repaired'];
  return html`
    <header class="top"><a class="press plain" href="#/" aria-label="All vehicles">${shape('back')}</a><h1 tabindex="-1">How it looks</h1>${lightSwitch()}</header>
    <main class="screen" data-testid="parts">
      ${part('Where it comes from', html`<p>A liner with its grid, film that is unrolled, pressed down with a squeegee and lapped; tape that hangs it and dots that say where to read. Film has one rounded corner, so that it does not lift.</p>`)}
      ${part('States', html`<ul class="stack">${answers.map((g) => html`<li class="row wrap">${roll(g.state, 0.7)} ${state(g.state, short(g, view), 0.4)}</li>`)}
        <li><span class="state is-held">${shape('stale')}<span>wipe too old</span></span></li>
        <li><span class="state is-held">${shape('spoiled')}<span>spoiled, do again</span></span></li></ul>`, 'Shape, word and colour, always together. On a list the end of the roll says it from afar; its edge is how far a wait has come.')}
      ${answers.map((g) => answer(sample({ gate: g }), g))}
      ${answer(sample({ net: { online: false, since: NOW - H, waiting: 2 } }), { ...gates.V1, stage: 'lay', name: 'Lay', text: 'Lay the hood now.', panel: 'hood', panel_name: 'hood' })}
      ${part('Hours that count', html`${counted(gate('dry', 'Dry', 'waits', '', { counted: 7.9 * H, needed: 24 * H, running: true }))}
        ${counted(gate('dry', 'Dry', 'held', '', { counted: 6.5 * H, needed: 12 * H }))}
        ${counted(gate('dry', 'Dry', 'held', '', { needed: 12 * H }))}`, 'Film behind a squeegee. The bar says in words what it does now; hatched, the squeegee is lifted.')}
      ${map(everyState())}
      ${part('Pins', html`<ul class="stack">${found.map((a, i) => html`<li class="row"><span class="pin-no is-${pinShape(a)}">${i + 1}</span>${findingAnswer[a]}</li>`)}</ul>
        ${walkMap(sample({ findings: found.map((answer, i) => ({ panel: ['left-sill', 'left-rear', 'hood', 'right-door'][i], place: '', answer })) }), () => {}, 'x')}`, 'Round: the owner must answer. Corner down: taken. Square and struck through: stays bare.')}
      ${part('Bodies', html`<ul class="choice tight">${sorts.map((s) => html`<li class="body">${silhouette(s.name, s.panels.map((p) => p.id))}<span class="small">${s.name}</span></li>`)}</ul>`, `${Object.keys(bodies).length} drawings, as data. On a job they are unrolled: front up, hung from the bottom.`)}
      ${part('Drawings', html`<ul class="icons">${drawn.map((name) => html`<li>${shape(name)}<span class="small">${name}</span></li>`)}</ul>`)}
      ${part('Tape and dots', html`<p class="row wrap"><span class="tape">Bay 4</span> <span class="tape">Yard</span> <span class="dot">3</span> <span class="dot big">12</span> <span class="dot bare">J</span> <span class="hang">7</span></p>`,
        'Tape names a place to stand or a step; a round dot a place to read; a square number the place in hang order.')}
      ${part('Buttons', html`<div class="acts"><button type="button" class="act go">Wash finished</button><button type="button" class="act">Not done</button><button type="button" class="act">From memory</button></div>
        <div class="choice glove"><button type="button" class="press iced">${shape('hand')}<span>I touched it</span></button><button type="button" class="press" aria-pressed="true">touch probe</button><button type="button" class="press" disabled>Not now</button></div>`,
        'The honest answers are as large as done. 76 px under the thumb, 60 where hands wear gloves, 48 everywhere.')}
      ${part('Where the lines are', html`<p class="row wrap">${[{ online: true, waiting: 0 }, { online: true, waiting: 3 }, { online: false, waiting: 0 }, { online: false, waiting: 1 }].map((net) => netMark({ net: { since: 0, ...net } }))}</p>`)}
      ${part('Said once', html`<p class="caution">${shape('first')}<span>No flame or hot gun. Extractor on, gloves, rags in the lidded bin.</span></p>
        <div class="away"><p class="grow">V2: Dry, wait ended 6 min ago.</p><button type="button" class="press">Seen</button></div>
        ${refusal('Humidity is 0 to 100 %. Read it again.')}`)}
      ${part('Type', html`<dl class="types">${sizes.map(([c, text, what]) => html`<div><dd class="t-${c}"><span class=${c}>${text}</span></dd><dt class="small quiet">${what}</dt></div>`)}</dl>`, "The phone's own type, digits of one width. Six sizes, and three weights: text, what is said, what calls.")}
      ${part('Colours', html`<ul class="icons">${colours.map(([name, what]) => html`<li><span class="swatch c-${name}"></span><b>${name}</b><span class="small">${what}</span></li>`)}</ul>`, 'Named by meaning. Night, more contrast and the system’s own colours change the values, never the meaning.')}
    </main>`;
}
