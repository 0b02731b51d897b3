// Invented views of an invented shop on a winter Wednesday at 08:00, for the
// screenshots. Written as the core writes them.
import { gate, gates, NOW, panel, panels, upperOpen } from '/app/views/samples.js';
import { sorts } from '/app/views/vehicles.js';

export { NOW, gate };

const H = 3_600_000, M = 60_000;

const shop = { name: 'Tarnbrook Six', units: 'C', zone: 'Europe/Berlin', set: true };
export const people = [
  ['J', 'Jolan', 'crew'], ['M', 'Mirre', 'lead'], ['P', 'Pell', 'porter'], ['R', 'Ruvin', 'crew'], ['S', 'Saska', 'crew'], ['T', 'Tove', 'prep'],
].map(([initials, name, role], i) => ({ id: 'person-' + i, name, initials, role }));
const places = ['Bay 1', 'Bay 2', 'Bay 3', 'Bay 4', 'Bay 5', 'Bay 6', 'Back yard'].map((name, i) => ({ id: 'place-' + (i + 1), name, sort: i < 6 ? 'bay' : 'yard', order: i + 1 }));

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
  instruments: [{ name: 'probe 2', sort: 'contact', due: true }, { name: 'bay-4-mid', sort: 'air', due: false }],
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
    const g = i < at ? gate(String(key), String(name), 'done', '') : i === at ? now : gate(String(key), String(name), 'held', `${rows[at][1]} first.`);
    const rest = i === at && per === 'panel' ? [{ ...g, panel: 'right-front', panel_name: 'right side front', text: 'Final wipe again: too old since ⟨t:1768373460000⟩.' }, { ...g, panel: 'right-door', panel_name: 'right front door', text: 'Final wipe again: bay door open at ⟨t:1768372800000⟩.' }] : [];
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
      ['silicone', 'Silicone or aerosol in the air', 'place', 'Wipe twice, then repeat the tape test.'], ['heater-off', 'Heater off', 'place', 'Light it again; hours go on, they do not restart.']].map(([cause, name, where, text]) => ({ cause, name, where, say: text, lasts: false })),
    evidence: [['blown-out', 'Seams blown out'], ['card-strips', 'Card strips drawn dry'], ['sweat-test', 'Sweat test'], ['water-gone', 'No water to be seen'], ['patch-test', 'Patch test']].map(([what, name]) => ({ what, name })),
    waivers: j.label === 'V4' ? [{ writer: 'w', seq: 9, stage: 'inspection', name: 'Look over clean paint', panel: '', zone: '', causes: ['owner-unsigned'], sentence: 'Owner said yes on the phone, signs at pick-up.', by: 'M', at: NOW - 20 * H }] : [],
    lines: [['Rear left sill ⟨c:7600⟩', 'J', 12 * M, 'here', false], ['Bay door open', 'R', 50 * M, 'here', false], ['Left sill ⟨c:19300⟩', 'J', 55 * M, 'here', true], ['Wash done', 'T', 20 * H, 'shop', false, 22 * H], ['Job begun: ' + j.label, 'M', 26 * H, 'shop', false]]
      .map(([text, by, ago, where, struck, was], i) => ({ writer: 'w', seq: 20 - i, ...(was ? { was: NOW - Number(was), adopted: false } : {}), at: NOW - Number(ago), by, text, where, struck, mine: true, kind: 'tick' })),
  };
}
