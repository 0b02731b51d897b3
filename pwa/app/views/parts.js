// @ts-check
// Every part in every state on one page, with invented data: what a designer
// looks at before changing anything, and the screenshot tests after.

import { html } from '../vendor/lit-html.js';
import { answer, counted, short } from './answer.js';
import { refusal } from './dock.js';
import { lightSwitch } from './home.js';
import { netMark } from './net.js';
import { gate, gates, job, NOW } from './samples.js';
import { shape, state } from './shapes.js';
import { map } from './map.js';

const H = 3_600_000;

/** @param {string} title @param {unknown} inner @param {string} [says] */
const part = (title, inner, says = '') => html`<section class="lap stack" aria-label=${title}><h2>${title}</h2>${says ? html`<p class="quiet">${says}</p>` : ''}${inner}</section>`;

/** A sample view whose clock stands at the invented Wednesday. @param {any} more */
const sample = (more = {}) => ({ ...job('job-V1'), came: performance.now(), ...more });

export function partsScreen() {
  const view = sample();
  const answers = [gates.V1, gates.V3, gates.V5, gates.V2, gates.V6];
  return html`
    <header class="top"><a class="press plain" href="#/" aria-label="All vehicles">${shape('back')}</a><h1 tabindex="-1">How it looks</h1>${lightSwitch()}</header>
    <main class="screen" data-testid="parts">
      ${part('States', html`<ul class="stack">${answers.map((g) => html`<li>${state(g.state, short(g, view), 0.4)}</li>`)}
        <li><span class="state is-held">${shape('stale')}<span>wipe too old</span></span></li>
        <li><span class="state is-held">${shape('spoiled')}<span>spoiled, do again</span></span></li></ul>`, 'Shape, word and colour, always together.')}
      ${answers.map((g) => answer(sample({ gate: g }), g))}
      ${answer(sample({ net: { online: false, since: NOW - H, waiting: 2 } }), { ...gates.V1, panel: 'hood', panel_name: 'Hood' })}
      ${part('Hours that count', html`${counted(gate('dry', 'Dry', 'waits', '', { counted: 7.9 * H, needed: 24 * H, running: true }))}
        ${counted(gate('dry', 'Dry', 'held', '', { counted: 6.5 * H, needed: 12 * H }))}
        ${counted(gate('dry', 'Dry', 'held', '', { needed: 12 * H }))}`, 'The bar says in words what it does now.')}
      ${map(view)}
      ${part('Tape and dots', html`<p class="row wrap"><span class="tape">Bay 4</span> <span class="tape">Yard</span> <span class="dot">3</span> <span class="dot big">12</span> <span class="dot bare">J</span></p>`,
        'Tape names a place to stand; a dot a place to read or to hang.')}
      ${part('Buttons', html`<div class="acts"><button type="button" class="act go">Wash finished</button><button type="button" class="act">Not done</button><button type="button" class="act">From memory</button></div>
        <div class="choice glove"><button type="button" class="press">I touched it</button><button type="button" class="press" aria-pressed="true">touch probe</button><button type="button" class="press" disabled>Not now</button></div>`,
        'The honest answers are as large as done. 48 px at least, 60 and more where hands wear gloves.')}
      ${part('Where the lines are', html`<p class="row wrap">${[{ online: true, waiting: 0 }, { online: true, waiting: 3 }, { online: false, waiting: 0 }, { online: false, waiting: 1 }].map((net) => netMark({ net: { since: 0, ...net } }))}</p>`)}
      ${part('Said once', html`<p class="caution">${shape('first')}<span>No flame or hot gun. Extractor on, gloves, rags in the lidded bin.</span></p>
        <div class="away"><p class="grow">V2: Dry, wait ended 6 min ago.</p><button type="button" class="press">Seen</button></div>
        ${refusal('Humidity is 0 to 100 %. Read it again.')}`)}
      ${part('Type', html`<p class="label">V5</p><p class="digits">12:20</p><p class="fact">Wet: sill 7.6 °C, dew point 15.4 °C.</p><p>Swap the flame heater, let outside air in.</p><p class="small quiet">Bay 4, 08:00, J</p>`)}
    </main>`;
}
