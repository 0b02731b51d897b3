// @ts-check
// Invented views of an invented shop on a winter Wednesday at 08:00, for the
// design page and the screenshots. Written as the core writes them.

import { sorts } from './vehicles.js';

const H = 3_600_000, M = 60_000;

/** Wednesday 14 January 2026, 08:00 in the shop. */
export const NOW = Date.UTC(2026, 0, 14, 7, 0);

const shop = { name: 'Tarnbrook Six', units: 'C', zone: 'Europe/Berlin', set: true };
export const people = [
  ['J', 'Jolan', 'crew'], ['M', 'Mirre', 'lead'], ['P', 'Pell', 'porter'], ['R', 'Ruvin', 'crew'], ['S', 'Saska', 'crew'], ['T', 'Tove', 'prep'],
].map(([initials, name, role], i) => ({ id: 'person-' + i, name, initials, role }));
const places = ['Bay 1', 'Bay 2', 'Bay 3', 'Bay 4', 'Bay 5', 'Bay 6', 'Yard'].map((name, i) => ({ id: 'place-' + (i + 1), name, sort: i < 6 ? 'bay' : 'yard', order: i + 1 }));

/** @param {string} stage @param {string} name @param {string} state @param {string} text @param {any} [more] */
export const gate = (stage, name, state, text, more = {}) => ({
  stage, name, panel: '', panel_name: '', zone: '', state, cause: '', causes: [], text, out: '', cond: '', until: 0, counted: 0, needed: 0,
  running: false, ask: '', waived: false, waivable: false,
  word: { open: 'start now', waits: 'from', held: 'stopped by', unknown: 'no reading', done: 'done' }[state], ...more,
});

/** The answers of the five vehicles, by their labels. */
export const gates = {
  V1: gate('wipe', 'Final wipe', 'open', 'Wipe the left side front now. Surface ⟨c:19100⟩, air dry.', { panel: 'left-front', panel_name: 'left side front' }),
  V2: gate('window', 'Temperature', 'unknown', 'Dry since ⟨t:1768361400000⟩. Read the rear left sill.', { ask: '1', zone: 'lower', out: 'Read the rear left sill to start.' }),
  V3: gate('dry', 'Dry', 'waits', 'Drying: ⟨h:70920000⟩ of 24 h. Paused in the night, bay cold.', { until: NOW + 4 * H + 20 * M, counted: 19.7 * H, needed: 24 * H, running: true }),
  V4: gate('patch-test', 'Gas patch test', 'held', 'Patch test failed: pin-heads on patch 2.', { out: 'Wait 7 days, then a new patch.', causes: ['patch-failed'], waivable: true }),
  V5: gate('dry', 'Dry', 'held', 'Wet: sill ⟨c:7600⟩, dew point ⟨c:15400⟩. Drying starts over.', {
    zone: 'lower', out: 'Swap the flame heater, let outside air in.', cond: '12 h that count once the sill is ⟨k:3000⟩ above the dew point, about ⟨t:1768425000000⟩.',
    counted: 0, needed: 12 * H, causes: ['wet'], waivable: true }),
  V6: gate('lay', 'Lay', 'done', 'All steps are done.'),
  walk: gate('inspection', 'Look over clean paint', 'held', 'Chip on rear doors, owner must answer.', { out: 'The owner must answer.', causes: ['finding'], cause: 'finding' }),
  soon: gate('primer', 'Primer', 'waits', 'Primer dries until ⟨t:1768374360000⟩.', { panel: 'left-door', panel_name: 'left front door', until: NOW + 6 * M }),
};

export const head = (/** @type {string} */ v, me = people[0]) => ({ v, now: NOW, shop, me, net: { online: true, since: 0, waiting: 0 } });

const vehicles = [
  ['V1', 'Oddvale Parcels', 'long high-roof van', 2, 30 * H, 0], ['V2', 'Brindlecote Laundry', 'medium van', 3, 74 * H, 0],
  ['V3', 'Hexmoor Transit', '12 m city bus', 5, 45 * H, 2], ['V4', 'Pellwick Bakery', 'small car', 6, 9 * H, 0], ['V5', 'Dunmarrow Plumbing', 'van with loaded racks', 4, 52 * H, 3],
].map(([label, customer, vehicle, place, due, only]) => ({
  id: 'job-' + label, label: String(label), customer, vehicle, place: 'place-' + place, place_name: 'Bay ' + place, promise: NOW + Number(due),
  gate: /** @type {any} */ (gates)[String(label)], only_here: Number(only),
}));

export const home = () => ({
  ...head('home'), jobs: vehicles, calls: [{ id: 'job-V6', label: 'V6', customer: 'Quillhurst Flowers', name: 'Call back' }], places, people,
  routes: [['van', 'Van wrap'], ['bus-side', 'Bus side'], ['removal', 'Remove and wrap again'], ['hood', 'Repainted hood']].map(([key, name]) => ({ key, name })),
});

const air = { air: 20000, rh: 75000, dew: 15400, at: NOW - 4 * M, age_ms: 4 * M, source: 'logger', fresh: true };
const dryAir = { air: 20000, rh: 33000, dew: 3200, at: NOW - 2 * M, age_ms: 2 * M, source: 'logger', fresh: true };

export const board = () => ({
  ...head('board', people[1]), spaces: [['place-1', 'place-4']], urgent: ['job-V4'],
  places: places.map((p) => ({
    ...p, climate: p.id === 'place-7' ? null : p.id === 'place-4' ? air : dryAir,
    ongoing: p.id === 'place-4' ? [{ cause: 'flame-heater', name: 'Flame heater without flue', place: p.id, since: NOW - 12 * H }] : [],
    jobs: vehicles.filter((j) => j.place === p.id).map((j) => ({ ...j, gates_held: j.gate.state === 'open' ? [] : [j.gate], last_by: 'T', last_at: NOW - 25 * M })),
  })),
});

export const setup = () => ({ ...head('setup'), places, people });

/** @param {string} id @param {string} name @param {string} zone @param {string} state @param {number} until @param {any} g */
const panel = (id, name, zone, state, until, g) => ({ id, name, zone, contour: true, primer: zone === 'upper', wipe: { state, until }, gate: g });

const upperOpen = gate('window', 'Temperature', 'open', 'Start the upper panels.', { zone: 'upper' });

/** @type {Record<string, any[]>} */
const panels = {
  V1: [
    panel('rear', 'rear doors', 'upper', 'none', 0, null), panel('left-sill', 'left sill', 'lower', 'none', 0, gates.V5),
    panel('left-rear', 'left side rear', 'upper', 'none', 0, null), panel('left-front', 'left side front', 'upper', 'none', 0, gates.V1),
    panel('left-door', 'left front door', 'upper', 'good', NOW + 14 * M, gate('lay', 'Lay', 'open', 'Lay now. Wipe good ⟨h:840000⟩.', { panel: 'left-door', panel_name: 'left front door' })),
    panel('right-sill', 'right sill', 'lower', 'none', 0, gates.V5), panel('right-rear', 'right side rear', 'upper', 'none', 0, null),
    panel('right-front', 'right side front', 'upper', 'stale', NOW - 9 * M, gate('wipe', 'Final wipe', 'open', 'Wipe again: too old since ⟨t:1768373460000⟩.', { panel: 'right-front', panel_name: 'right side front' })),
    panel('right-door', 'right front door', 'upper', 'spoiled', NOW - 20 * M, gate('wipe', 'Final wipe', 'open', 'Wipe again: bay door open.', { panel: 'right-door', panel_name: 'right front door' })),
    panel('hood', 'hood', 'upper', 'good', NOW + 4 * M, gate('lay', 'Lay', 'open', 'Lay now. Wipe good ⟨h:240000⟩.', { panel: 'hood', panel_name: 'hood' })),
  ],
};
/** Which of the vehicle sorts the others are. @type {Record<string, string>} */
const sortOf = { V2: 'van', V3: 'bus', V4: 'hood', V5: 'van' };
/** @param {string} label */
const panelsOf = (label) => panels[label] ?? /** @type {import('./vehicles.js').Sort} */ (sorts.find((s) => s.key === sortOf[label])).panels.map(({ id, name, zone }) =>
  panel(id, name, zone, 'none', 0, label === 'V5' && zone === 'upper' ? upperOpen : /** @type {any} */ (gates)[label]));

/** @param {any} now */
const stages = (now) => {
  const rows = [['wash', 'Wash', 'vehicle', 'Engine off in a closed bay. Electric vehicle: charger off.', true], ['inspection', 'Look over clean paint', 'vehicle', '', false],
    ['dry', 'Dry', 'zone', 'Never leave a flame heater alone; carbon monoxide alarm on.', false], ['window', 'Temperature', 'zone', '', false],
    ['wipe', 'Final wipe', 'panel', 'No flame or hot gun. Extractor on, gloves, rags in the lidded bin.', true],
    ['primer', 'Primer', 'panel', 'No flame or hot gun. Extractor on, gloves, rags in the lidded bin.', true], ['lay', 'Lay', 'panel', 'Over 2 m use a platform. Blade away from the other hand.', true]];
  if (now.stage === 'patch-test') rows.splice(2, 0, ['patch-test', 'Gas patch test', 'vehicle', 'Nozzle over 400 C: stand, away from airbags, tyres and fuel flap.', false]);
  const at = rows.findIndex(([key]) => key === now.stage);
  return rows.map(([key, name, per, caution, tap], i) => {
    const g = i < at ? gate(String(key), String(name), 'done', '') : i === at ? now : gate(String(key), String(name), 'held', `After ${String(rows[at][1]).toLowerCase()}.`);
    const rest = i === at && per === 'panel' ? [{ ...g, panel: 'right-front', panel_name: 'right side front', text: 'Wipe again: too old since ⟨t:1768373460000⟩.' }, { ...g, panel: 'right-door', panel_name: 'right front door', text: 'Wipe again: bay door open.' }] : [];
    return { key, name, per, caution, tap, proof: key === 'patch-test' ? 'test' : key === 'inspection' ? 'walk' : 'tick', what: key, signers: key === 'inspection' ? ['installer', 'owner'] : [], asks: [], gates: [g, ...rest], state: g.state, text: g.text, done: i < at ? 1 : 0, all: 1 + rest.length };
  });
};

/** @param {string} id of a job */
export function job(id) {
  // Two moments that no vehicle of the list stands at: the walk, a short wait.
  const moment = id === 'job-walk' ? gates.walk : id === 'job-soon' ? gates.soon : null;
  const j = moment ? { ...vehicles[0], id, gate: moment } : vehicles.find((v) => v.id === id) ?? vehicles[0];
  const cold = j.label === 'V5';
  return {
    ...head('job', cold || j.label === 'V4' ? people[1] : people[0]), id: j.id, label: j.label, customer: j.customer, vehicle: j.vehicle, plate: 'TB 41 ' + j.label,
    route: { key: 'van', name: 'Van wrap' }, place: { id: j.place, name: j.place_name }, promise: j.promise, closed: false, gate: j.gate, stages: stages(j.gate), panels: panelsOf(j.label),
    spots: [['1', 'rear left sill', 'lower', 7600], ['2', 'rear right sill', 'lower', 8100], ['3', 'left hinge post', 'lower', 0], ['4', 'left shoulder', 'upper', 15000]].map(([spot, name, zone, surface]) => ({
      id: spot, name, zone, ask: spot === '1' || spot === '3', last: surface ? { surface: cold ? surface : 19300, at: NOW - 12 * M, by: 'J', instrument: spot === '4' ? 'logger' : 'contact' } : null })),
    climate: cold ? air : dryAir, margin: { spot: '1', spot_name: 'rear left sill', value: cold ? -7800 : 15900, at: NOW - 12 * M },
    ongoing: cold ? [{ cause: 'flame-heater', name: 'Flame heater without flue', place: j.place, since: NOW - 12 * H }] : [],
    findings: [{ writer: 'w', seq: 4, panel: 'rear', panel_name: 'rear doors', place: 'lower edge <left>', what: 'chip', photo: '', note: '', answer: '', answers: [] },
      { writer: 'w', seq: 5, panel: 'left-rear', panel_name: 'left side rear', place: 'low, middle', what: 'repaint', photo: '', note: 'soft edge under side light', answer: 'accepted', answers: [] }],
    signatures: [{ writer: 'w', seq: 6, as: 'installer', name: 'Jolan', at: NOW - 18 * H }],
    setbacks: [['touched', 'I touched it', 'spot', 'Wipe that spot again.'], ['door-open', 'Bay door open', 'place', 'Wipe again, read the surface after 30 min.'], ['lunch', 'Break', 'vehicle', 'Wipe again.'],
      ['rain', 'Driven in rain', 'vehicle', 'Wash again, then dry from zero.'], ['wet-again', 'Got wet again', 'panel', 'Blow out, then dry from zero.'], ['drip', 'Drips from a seal or handle', 'panel', 'Chase it with cloth and air, 1 to 4 h more.'],
      ['silicone', 'Silicone or aerosol in the air', 'place', 'Wipe twice, then repeat the tape test.'], ['heater-off', 'Heater off', 'place', 'Light it again; hours go on.']].map(([cause, name, where, text]) => ({ cause, name, where, say: text, lasts: false })),
    evidence: [['blown-out', 'Seams blown out'], ['card-strips', 'Card strips drawn dry'], ['sweat-test', 'Sweat test'], ['water-gone', 'No water to be seen'], ['patch-test', 'Patch test']].map(([what, name]) => ({ what, name })),
    waivers: j.label === 'V4' ? [{ writer: 'w', seq: 9, stage: 'inspection', name: 'Look over clean paint', panel: '', zone: '', causes: ['owner-unsigned'], sentence: 'Owner said yes on the phone, signs at pick-up.', by: 'M', at: NOW - 20 * H }] : [],
    lines: [['Rear left sill ⟨c:7600⟩', 'J', 12 * M, 'here', false], ['Bay door open', 'R', 50 * M, 'here', false], ['Left sill ⟨c:19300⟩', 'J', 55 * M, 'here', true], ['Wash: done', 'T', 20 * H, 'shop', false], ['Job begun: ' + j.label, 'M', 26 * H, 'shop', false]]
      .map(([text, by, ago, where, struck], i) => ({ writer: 'w', seq: 20 - i, at: NOW - Number(ago), by, text, where, struck, mine: true, kind: 'tick' })),
  };
}
