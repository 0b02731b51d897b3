// @ts-check
// A vehicle comes in: what it is called, whose it is, what it is, which way
// the work goes, where it stands, which panels get film, when it is promised.

import { html, nothing, sentence, t, tr } from '../tongue.js';
import { fromField } from '../marks.js';
import { app, home, openSheet, paint } from './app.js';
import { noted, refuse } from './acts.js';
import { refusal } from './dock.js';
import { pickMap, silhouette } from './map.js';
import { shape } from './shapes.js';
import { saveSize, sizeFields, sizeOf } from './size.js';
import { inLine, unitsOf } from './units.js';
import { drops, sorts } from './vehicles.js';
import { dropWord } from './words.js';

/** What is typed so far; kept while the screen is left and come back to. */
const fresh = () => ({ label: '', customer: '', vehicle: '', plate: '', vin: '', fleet: '', proof: '', route: '', place: '', promise: '', sort: '', side: '', roll: '', long: '', high: '', drops: 0, off: /** @type {Set<string>} */ (new Set()) });
let form = fresh();

/** The panels of what comes in: those of its sort, or the drops that were
 * counted for its side. @param {import('./vehicles.js').Sort} sort */
const panelsOf = (sort) => (form.drops ? drops(form.drops) : sort.panels);

export function newJobScreen() {
  const view = home();
  const sort = sorts.find((s) => s.key === form.sort);
  const routes = view?.routes ?? [];
  return html`
    <header class="top"><a class="press plain" href="#/" aria-label="All vehicles">${shape('back')}</a><h1 tabindex="-1">New vehicle</h1></header>
    <main class="screen narrow stack" data-testid="new">
      ${refusal(app.refused)}
      ${text('label', t`Short name on lists`, 'new-job-label')}${oneTap('label', [nextLabel(view)], 'label-next')}
      ${text('customer', t`Customer`, 'new-job-customer')}${oneTap('customer', customers(view), 'customer-same')}
      <fieldset class="stack"><legend><h2>What is it?</h2></legend><div class="choice">${sorts.map((s) => html`<button type="button" class="press sort" aria-pressed=${form.sort === s.key}
        data-testid="sort:${s.key}" @click=${() => choose(s)}>${silhouette(s.name, s.panels.map((p) => p.id))}<span>${tr(s.name)}</span></button>`)}</div></fieldset>
      ${sort ? html`<details data-testid="new-job-size"><summary>${t`How long and high?`}</summary><div class="stack">${sizeFields(form, sort.name.toLowerCase())}</div></details>` : nothing}
      ${sort?.route === 'bus-side' ? html`<section class="lap stack" aria-labelledby="drops-title"><h2 id="drops-title">${dropWord.title}</h2>
        ${measure('side', dropWord.side, 'm')}${measure('roll', dropWord.roll, 'mm')}
        <button type="button" class="press wide" data-testid="drops-count" @click=${count}>${dropWord.count}</button>
        <p role="status">${form.drops ? dropWord.counted(form.drops) : nothing}</p></section>` : nothing}
      ${text('plate', t`Plate`, 'new-job-plate')}
      <details data-testid="new-job-more"><summary>More</summary><div class="stack">${text('vin', t`Vehicle's own number (VIN)`, 'new-job-vin')}${text('fleet', t`Fleet number`, 'new-job-fleet')}${text('proof', t`Version of the artwork, as approved`, 'new-job-proof')}</div></details>
      <fieldset class="stack"><legend><h2>Job steps</h2></legend><div class="choice">${routes.map((/** @type {any} */ r) => html`<button type="button" class="press"
        aria-pressed=${form.route === r.key} data-testid="route:${r.key}" @click=${() => { form.route = r.key; paint(); }}>${tr(r.name)}</button>`)}</div></fieldset>
      <fieldset class="stack"><legend><h2>Where does it stand?</h2></legend><div class="choice tight">${(view?.places ?? []).map((/** @type {any} */ p) => html`<button type="button" class="press"
        aria-pressed=${form.place === p.id} data-testid="at:${p.name}" @click=${() => { form.place = p.id; paint(); }}>${p.name}</button>`)}</div></fieldset>
      <label class="field"><span>Promised for</span><input type="datetime-local" data-testid="new-job-promise" .value=${form.promise} @input=${(/** @type {any} */ e) => { form.promise = e.target.value; }}></label>
      ${sort ? html`<section aria-labelledby="film-title"><h2 id="film-title">Where does film go?</h2><p class="small quiet">Touch what stays bare. Numbers are the hang order.</p>
        ${pickMap({ vehicle: sort.name, panels: panelsOf(sort).map((p) => ({ ...p, name: sentence(p.name) })) }, (id) => !form.off.has(id), (id) => { form.off[form.off.has(id) ? 'delete' : 'add'](id); paint(); })}
        <p class="small">${panelsOf(sort).filter((p) => !form.off.has(p.id)).map((p) => sentence(p.name)).join(', ') || t`No panel yet.`}</p></section>` : nothing}
    </main>`;
}

export const newJobDock = () => html`<div class="acts"><button type="button" class="act go" data-testid="new-job-save" @click=${() => save(false)}>Vehicle is in</button></div>`;

/** @param {'side' | 'roll'} key @param {string} label @param {string} of the unit it is typed in */
const measure = (key, label, of) => html`<label class="field"><span>${label}, ${unitsOf(of)[0]}</span><input inputmode="decimal" autocomplete="off" data-testid="drops-${key}" .value=${form[key]}
  @input=${(/** @type {any} */ e) => { form[key] = e.target.value; }}></label>`;

/** How many drops hang on the side, by the shop server. */
async function count() {
  const [side, roll] = [inLine(form.side.trim(), 'm', unitsOf('m')[0]), inLine(form.roll.trim(), 'mm', unitsOf('mm')[0])];
  if (!(side > 0 && roll > 0)) return refuse(dropWord.both);
  try {
    const response = await fetch('/drops?' + new URLSearchParams({ side_mm: String(Math.round(side / 1000)), roll_mm: String(Math.round(roll / 1000)) }));
    if (!response.ok) return refuse(response.status === 400 ? dropWord.not : dropWord.away);
    form.drops = (await response.json()).drops;
    form.off.clear();
    app.refused = '';
    paint();
  } catch {
    refuse(dropWord.away);
  }
}

/** @param {'label' | 'customer' | 'plate' | 'vin' | 'fleet' | 'proof'} key @param {string} label @param {string} testid */
const text = (key, label, testid) => html`<label class="field"><span>${label}</span><input data-testid=${testid} autocomplete="off" .value=${form[key]}
  @input=${(/** @type {any} */ e) => { form[key] = e.target.value; paint(); }}></label>`;

/** What is likely, for one tap instead of the keyboard; nothing is taken until then.
 * @param {'label' | 'customer'} key @param {string[]} likely @param {string} testid */
const oneTap = (key, likely, testid) => (form[key] || !likely.length ? nothing : html`<div class="row wrap">${likely.map((value) => html`<button type="button" class="press" data-testid="${testid}:${value}"
  @click=${() => { form[key] = value; paint(); }}>${value}</button>`)}</div>`);

/** The first of V1, V2, V3 that no vehicle in the shop has. @param {any} view */
function nextLabel(view) {
  let n = 1;
  while ((view?.jobs ?? []).some((/** @type {any} */ j) => j.label === 'V' + n)) n++;
  return 'V' + n;
}

/** Whose vehicles are in the shop. @param {any} view @returns {string[]} */
const customers = (view) => [...new Set((view?.jobs ?? []).map((/** @type {any} */ j) => j.customer).filter(Boolean))].slice(0, 4);

/** @param {import('./vehicles.js').Sort} s */
function choose(s) {
  form.sort = s.key;
  form.drops = 0;
  form.long = form.high = '';
  form.off.clear();
  if ((home()?.routes ?? []).some((/** @type {any} */ r) => r.key === s.route)) form.route = s.route;
  paint();
}

/** @param {boolean} sure the person answered the phone's question with yes */
async function save(sure) {
  const sort = sorts.find((s) => s.key === form.sort);
  const label = form.label.trim();
  if (!label) return refuse(t`Give it a short name for the lists, such as V6.`);
  if (!sort) return refuse(t`Touch what kind of vehicle it is.`);
  if (!form.route) return refuse(t`Touch which steps the job takes.`);
  if (!form.place) return refuse(t`Touch where it stands now.`);
  const size = sizeOf(form);
  if (!size) return;
  if (!home()?.me && home()?.people?.length) return openSheet('who', { then: () => save(sure) }); // a line needs a name
  const answer = await app.shop.ask('newJob', {
    label, customer: form.customer.trim(), vehicle: sort.name.toLowerCase(), plate: form.plate.trim(), vin: form.vin.trim(), fleet: form.fleet.trim(), proof: form.proof.trim(), route: form.route, film: '',
    place: form.place, promise: form.promise ? fromField(form.promise, home()?.shop ?? {}) : 0,
    panels: panelsOf(sort).filter((p) => !form.off.has(p.id)), spots: sort.spots, sure,
  });
  if (answer.refused) return refuse(answer.refused, answer.ask && (() => save(true)));
  form = fresh();
  app.refused = '';
  await saveSize(answer.id, size, label);
  noted(t`${label} is in.`, undefined, undefined, 6000);
  location.replace('#/job/' + answer.id); // back leads to the vehicles, not to an empty form
}
