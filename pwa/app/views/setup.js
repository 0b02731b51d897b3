// @ts-check
// The shop itself: its name, units and zone; its bays and yard in the order
// they stand; its crew.

import { html, nothing, t } from '../tongue.js';
import { app, go, home, paint, viewOf } from './app.js';
import { ofShop, refuse, write } from './acts.js';
import { sharedAir } from './air.js';
import { refusal } from './dock.js';
import { lightSwitch } from './home.js';
import { netMark } from './net.js';
import { barred, offered } from './rights.js';
import { shape } from './shapes.js';
import { roleWord, sortWord } from './words.js';

/** @type {{name?: string, units?: string, zone?: string, place: string, sort: string, id: string, person: string, initials: string, role: string}} */
const form = { place: '', sort: 'bay', id: '', person: '', initials: '', role: '' };

/** Whoever comes first is the lead: a shop without one can set nothing. @param {any[]} people */
const roleNow = (people) => form.role || (people.some((p) => p.role === 'lead') ? 'crew' : 'lead');

/** The next bay's name as it is usually counted, for one tap. @param {any[]} places */
function nextBay(places) {
  let n = 1;
  while (places.some((p) => p.name === t`Bay ${n}`)) n++;
  return t`Bay ${n}`;
}

/** Initials for who types none: the first letters of the words, or as much of the
 * name as nobody has. @param {string} name @param {any[]} people */
function letters(name, people) {
  const words = name.trim().split(/\s+/), whole = words.join('');
  return [words.map((w) => w[0] ?? '').join('').slice(0, 4), ...[2, 3, 4].map((n) => whole.slice(0, n))].map((s) => s.toUpperCase())
    .find((s) => !holder(s, people)) ?? '';
}

/** Who else has these initials. @param {string} initials @param {any[]} people */
const holder = (initials, people) => people.find((p) => p.id !== form.id && p.initials.toLowerCase() === initials.toLowerCase());

/** Takes somebody of the crew into the fields, to be written down anew; nobody
 * takes them out again. @param {any} [p] */
function correct(p) {
  Object.assign(form, { id: p?.id ?? '', person: p?.name ?? '', initials: p?.initials ?? '', role: p?.role ?? '' });
  app.refused = '';
  paint();
}

const myZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone || 'UTC';

export function setupScreen() {
  const view = viewOf('setup') ?? home();
  const shop = view?.shop ?? {};
  const places = view?.places ?? [], people = view?.people ?? [];
  if (!view || (!shop.set && !view.net?.online)) return meeting(view);
  const units = form.units ?? (shop.own || 'C');
  return html`
    <header class="top">${shop.set ? html`<a class="press plain" href="#/" aria-label="All vehicles">${shape('back')}</a>` : nothing}
      <h1 tabindex="-1">${shop.set ? t`The shop` : t`Set up your shop`}</h1>${netMark(view)}</header>
    <main class="screen narrow" data-testid="setup">
      ${refusal(app.refused)}
      <section class="lap stack" aria-labelledby="shop-title"><h2 id="shop-title">Name, units, time</h2>
        ${offered('shop.set', () => html`<label class="field"><span>Shop name</span><input data-testid="setup-shop-name" autocomplete="organization" .value=${form.name ?? shop.name ?? ''} @input=${(/** @type {any} */ e) => { form.name = e.target.value; }}></label>
        <div class="row wrap" role="group" aria-label="Units">${[['C', '°C'], ['F', '°F']].map(([key, word]) => html`<button type="button" class="press" data-testid="units-${key}"
          aria-pressed=${units === key} @click=${() => { form.units = key; paint(); }}>${word}</button>`)}</div>
        <label class="field"><span>Time zone</span><input data-testid="setup-zone" autocomplete="off" .value=${form.zone ?? (shop.zone || myZone())} @input=${(/** @type {any} */ e) => { form.zone = e.target.value; }}></label>
        <button type="button" class="press go wide" data-testid="setup-save" @click=${() => saveShop(shop)}>Keep</button>`)}</section>
      <section class="lap stack" aria-labelledby="places-title"><h2 id="places-title">Bays and yard, in the building's order</h2>
        <ol class="plain-list">${places.map((/** @type {any} */ p) => html`<li class="row wrap"><span class="tape">${p.name}</span><span class="small quiet">${sortWord[p.sort] ?? p.sort}</span></li>`)}</ol>
        ${offered('place.add', () => html`<div class="row wrap" role="group" aria-label="Add a place">${[[nextBay(places), 'bay'], ...(places.some((/** @type {any} */ p) => p.sort === 'yard') ? [] : [[t`Yard`, 'yard']])].map(([name, sort]) => html`
          <button type="button" class="press" data-testid="place-next:${sort}" @click=${() => savePlace(places, name, sort)}>+ ${name}</button>`)}</div>
        <label class="field"><span>Or another name</span><input data-testid="place-name" autocomplete="off" .value=${form.place} @input=${(/** @type {any} */ e) => { form.place = e.target.value; }}></label>
        <div class="choice tight" role="group" aria-label="Kind of place">${Object.entries(sortWord).map(([key, word]) => html`<button type="button" class="press" aria-pressed=${form.sort === key}
          @click=${() => { form.sort = key; paint(); }}>${word}</button>`)}</div>
        <button type="button" class="press wide" data-testid="place-save" @click=${() => savePlace(places, form.place.trim(), form.sort)}>Add place</button>`)}</section>
      ${places.length > 1 ? sharedAir(places) : nothing}
      <section class="lap stack" aria-labelledby="crew-title"><h2 id="crew-title">Crew${people.length ? '' : html` <span class="where">yourself first, as lead</span>`}</h2>
        <ul class="plain-list">${people.map((/** @type {any} */ p) => html`<li class="row wrap"><span class="dot bare">${p.initials}</span>${p.name}<span class="small quiet">${roleWord[p.role] ?? p.role}</span>
          ${barred('person.add') ? nothing : html`<button type="button" class="press push" aria-label=${form.id === p.id ? t`Leave ${p.name} so` : t`Correct ${p.name}`} data-testid="person-correct:${p.name}" @click=${() => correct(form.id === p.id ? undefined : p)}>${form.id === p.id ? t`Leave it so` : t`Correct`}</button>`}</li>`)}</ul>
        ${offered('person.add', () => html`<label class="field"><span>Name</span><input data-testid="person-name" autocomplete="off" .value=${form.person} @input=${(/** @type {any} */ e) => { form.person = e.target.value; paint(); }}></label>
        <label class="field"><span>Initials on the buttons${letters(form.person, people) ? html` <span class="where">${t`left empty: ${letters(form.person, people)}`}</span>` : nothing}</span><input data-testid="person-initials" autocomplete="off" maxlength="4" .value=${form.initials} @input=${(/** @type {any} */ e) => { form.initials = e.target.value; }}></label>
        <div class="choice tight" role="group" aria-label="Work">${Object.entries(roleWord).map(([key, word]) => html`<button type="button" class="press" aria-pressed=${roleNow(people) === key} data-testid="role-${key}"
          @click=${() => { form.role = key; paint(); }}>${word}</button>`)}</div>
        <button type="button" class="press wide" data-testid="person-save" @click=${() => savePerson(people)}>${form.id ? t`Write it anew` : t`Add to the crew`}</button>`)}</section>
      <div class="row wrap">${shop.set ? html`<a class="press" data-testid="to-vehicles" href="#/">To the vehicles</a>` : nothing}${shop.set ? html`<a class="press" data-testid="rules-link" href="#/rules">Numbers and steps</a><a class="press" data-testid="hours-link" href="#/hours">Hours and bays</a><a class="press" data-testid="instruments-link" href="#/instruments">Instruments</a>` : nothing}${view.net?.role === 'lead' ? html`<a class="press" data-testid="phones-link" href="#/phones">Phones</a>` : nothing}<a class="press" href="#/phone">This phone</a><a class="press" href="#/parts">How it looks</a>${lightSwitch()}</div>
    </main>`;
}

/** Before this phone has met the shop there is nothing to set up: the shop may
 * have its name and crew already. @param {any} view */
const meeting = (view) => html`
  <header class="top"><h1 tabindex="-1">Bayhold</h1>${netMark(view)}</header>
  <main class="screen narrow" data-testid="meeting"><section class="lap stack"><p class="fact">This phone looks for the shop.</p>
    <p>Nothing happens? Stand where the shop's wifi reaches. After the first time it works without.</p></section></main>`;

/** @param {any} shop */
async function saveShop(shop) {
  const name = (form.name ?? shop.name ?? '').trim();
  if (!name) return refuse(t`Give the shop a name.`);
  const zone = (form.zone ?? (shop.zone || myZone())).trim();
  try { new Intl.DateTimeFormat('en', { timeZone: zone }); } catch { return refuse(t`No such time zone: ${zone}. Write it like Europe/Berlin.`); }
  const kept = await write({ log: ofShop(), kind: 'shop.set', body: { name, units: form.units ?? (shop.own || 'C'), zone } }, t`Kept.`);
  if (kept) go('#/setup'); // the first start goes on to bays and crew
}

/** @param {any[]} places @param {string} name @param {string} sort */
async function savePlace(places, name, sort) {
  if (!name) return refuse(t`Give the place a name, such as Bay 1.`);
  if (places.some((p) => p.name === name)) return refuse(t`There is a ${name} already.`);
  const order = Math.max(0, ...places.map((p) => p.order || 0)) + 1;
  if (await write({ log: ofShop(), kind: 'place.add', body: { place: await app.shop.ask('id'), name, sort, order } }, t`Added: ${name}.`)) {
    if (form.place.trim() === name) form.place = ''; // else the next is being typed already
    form.sort = 'bay';
    paint();
  }
}

/** @param {any[]} people */
async function savePerson(people) {
  const name = form.person.trim(), initials = form.initials.trim() || letters(name, people), role = roleNow(people);
  if (!name) return refuse(t`Write the name.`);
  if (!initials) return refuse(t`Write the initials that the buttons show.`);
  const other = holder(initials, people);
  if (other) return refuse(t`${initials} is ${other.name} already: write other initials.`);
  if (form.id && role !== 'lead' && !people.some((p) => p.id !== form.id && p.role === 'lead')) return refuse(t`The shop needs a lead. Make somebody else lead first.`);
  const was = form.id, person = was || (await app.shop.ask('id'));
  if (!(await write({ log: ofShop(), kind: 'person.add', body: { person, name, initials, role } }, was ? t`Corrected: ${name}.` : t`Added: ${name}.`))) return;
  if (!people.length) await app.shop.ask('me', { person }); // who sets the shop up writes themselves down first
  if (form.person.trim() === name) correct(); // else the next is being typed already
  paint();
}
