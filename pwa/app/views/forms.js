// @ts-check
// What a hand writes down, as data: for each form the fields in the order in
// which they are asked, one at a time. A choice is a row of large buttons, a
// number the pad, with nothing filled in; what may be left open has its own
// button, as large: 'not measured' is an answer.

import { t, tr } from '../tongue.js';

/** @typedef {{
 *   key: string, ask: string, kind: 'choice' | 'number' | 'text' | 'photo' | 'date' | 'panels' | 'panel' | 'list',
 *   of?: [any, string][], unit?: string, skip?: string, other?: boolean, scan?: boolean,
 *   when?: (got: any) => boolean,
 * }} Field */
/** @typedef {{title: string, kind: string, panel?: boolean, fields: Field[],
 *   body: (got: any, at: {panel: string, now: number, view: any}) => any, said: (got: any) => string}} Form */

/** @param {...string} is */
const sort = (...is) => (/** @type {any} */ got) => is.includes(got.sort);

/** @type {Record<string, string>} */
const sortName = { channel: 'Channel', dome: 'Dome', rivets: 'Rivets', seam: 'Seam', gap: 'Gap', 'keep-clear': 'Keep clear', flat: 'Flat' };

/** The film families, laminates and adhesives of the core, in a hand's words.
 * @type {[string, string][]} */
export const families = [['cast', 'cast, plain colour'], ['cast-print', 'cast, printed'], ['cast-structured', 'cast, metallic or structured'],
  ['calendered-long', 'calendered, long life'], ['calendered-short', 'calendered, short life'], ['reflective', 'reflective cast'], ['perforated', 'perforated, for glass']];

/** @type {[string, string][]} */
export const origins = [["maker's sheet", "maker's sheet"], ['shop rule', 'shop rule'], ['trade memory', 'trade memory']];

/** The rules that a film's own sheet can replace. @type {[string, string][]} */
const sheetRules = [['surface_floor', 'Coldest surface, contours'], ['surface_floor_flat', 'Coldest surface, flats'], ['surface_ceiling', 'Warmest surface'],
  ['air_floor', 'Coldest air'], ['air_ceiling', 'Warmest air']];

/** An id that the panel does not have yet: 'channel-2'. @param {any} got @param {any} at */
function fresh(got, at) {
  let n = 1;
  const taken = (at.view.features ?? []).filter((/** @type {any} */ f) => f.panel === at.panel).map((/** @type {any} */ f) => f.id);
  while (taken.includes(`${got.sort}-${n}`)) n++;
  return `${got.sort}-${n}`;
}

/** @type {Record<string, Form>} */
export const forms = {
  feature: {
    title: 'Measure', kind: 'feature', panel: true,
    fields: [
      { key: 'sort', ask: 'What is there?', kind: 'choice', of: Object.entries(sortName) },
      { key: 'name', ask: 'What must stay clear?', kind: 'choice', when: sort('keep-clear'), of: [['sensor', 'Sensor'], ['camera', 'Camera'], ['exit', 'Emergency exit'], ['plate', 'Plate'], ['lamp', 'Lamp']], other: true },
      { key: 'shape', ask: 'Its shape, cut across?', kind: 'choice', when: sort('channel'), of: [['V', 'V'], ['round', 'Round'], ['parabola', 'Soft bow'], ['trapezoid', 'Flat floor'], ['tape', 'Odd: by tape']] },
      { key: 'width', ask: 'Width across the mouth', kind: 'number', unit: 'mm', when: sort('channel', 'gap') },
      { key: 'depth', ask: 'Depth, deepest of three places', kind: 'number', unit: 'mm', when: sort('channel') },
      { key: 'floor', ask: 'Width of its floor', kind: 'number', unit: 'mm', when: (g) => g.shape === 'trapezoid' },
      { key: 'path', ask: 'Along it by tape, lip to lip', kind: 'number', unit: 'mm', when: (g) => g.shape === 'tape' },
      { key: 'base', ask: 'Width across its foot', kind: 'number', unit: 'mm', when: sort('dome') },
      { key: 'height', ask: 'Height over its foot', kind: 'number', unit: 'mm', when: sort('dome') },
      { key: 'count', ask: 'How many rivets?', kind: 'number', unit: 'n', when: sort('rivets') },
      { key: 'length', ask: 'How long is it, to be heated?', kind: 'number', unit: 'm', when: sort('channel', 'dome', 'rivets', 'seam'), skip: 'Not measured' },
      { key: 'moving', ask: 'Does it open or move?', kind: 'choice', when: sort('gap', 'seam'), of: [[true, 'Moves: cut it'], [false, 'Fixed']] },
      { key: 'under', ask: 'Which panel lies under it there?', kind: 'panel', when: sort('seam'), skip: 'Not said yet' },
      { key: 'force', ask: 'Why does that one lie under?', kind: 'choice', when: (g) => g.under, of: [['airflow', 'Air: the edge looks to the rear'], ['water', 'Water runs over it'], ['reach', 'Within reach, both fresh'], ['sight', 'Sight: the edge looks away']], skip: 'No reason' },
      { key: 'laid', ask: 'How is the film laid in?', kind: 'choice', when: sort('channel', 'dome'), of: [['floor-first', 'Floor first'], ['bridged', 'Bridged, then pressed']], skip: 'Not said yet' },
      { key: 'plan', ask: 'What is planned there?', kind: 'choice', when: sort('channel', 'dome'), of: [['stretch', 'Stretch it in'], ['relief-cut', 'Relief cut'], ['inlay', 'Inlay'], ['bare', 'Leave it bare']], skip: 'No plan yet' },
    ],
    body: ({ base, ...got }, at) => ({ ...got, panel: at.panel, id: fresh(got, at), ...(base ? { half_width: Math.round(base / 2) } : {}) }),
    said: (got) => t`${tr(sortName[got.sort])} measured.`,
  },
  film: {
    title: 'Film', kind: 'film', panel: true,
    fields: [
      { key: 'panels', ask: 'For which panels?', kind: 'panels' },
      { key: 'family', ask: 'What film is it?', kind: 'choice', of: families },
      { key: 'laminate', ask: 'What laminate?', kind: 'choice', of: [['none', 'None'], ['cast', 'Cast'], ['calendered', 'Calendered']], skip: 'Nobody knows' },
      { key: 'adhesive', ask: 'What adhesive?', kind: 'choice', of: [['permanent', 'Permanent'], ['removable', 'Removable'], ['strong', 'Strong']], skip: 'Nobody knows' },
      { key: 'thickness', ask: 'Thickness without adhesive', kind: 'number', unit: 'um', skip: 'Not known' },
      { key: 'printed', ask: 'Printed in this shop?', kind: 'choice', of: [[true, 'Yes, it must gas out'], [false, 'No']] },
      { key: 'months', ask: 'How long is it to stay?', kind: 'number', unit: 'months', skip: 'Nobody said' },
      { key: 'batch', ask: 'Batch, as on the box', kind: 'text', skip: 'Not known', scan: true },
      { key: 'roll', ask: 'Roll number', kind: 'text', skip: 'Not known', scan: true },
      { key: 'sheet', ask: 'What its sheet calls it', kind: 'text', skip: 'No sheet' },
    ],
    body: (got) => got,
    said: () => t`Film written down.`,
  },
  limit: {
    title: "From the film's sheet", kind: 'film', panel: true,
    fields: [
      { key: 'key', ask: 'Which number?', kind: 'choice', of: sheetRules },
      { key: 'value', ask: 'As the sheet has it', kind: 'number', unit: 'temp' },
      { key: 'origin', ask: 'Where is it from?', kind: 'choice', of: origins },
    ],
    body: (got, at) => {
      const film = filmOf(at.view, at.panel);
      return { ...film, limits: [...(film?.limits ?? []).filter((/** @type {any} */ l) => l.key !== got.key), got] };
    },
    said: () => t`Number of the film written down.`,
  },
  trial: {
    title: 'Trial strip', kind: 'trial',
    fields: [
      { key: 'place', ask: 'Where was it pulled?', kind: 'choice', of: [['sunny roof edge', 'Sunny roof edge'], ['side', 'Side'], ['repaired panel', 'Repaired panel'], ['shaded side', 'Shaded side']], other: true },
      { key: 'surface', ask: 'Surface under the strip', kind: 'number', unit: 'temp', skip: 'Not measured' },
      { key: 'angle', ask: 'Angle: 90 straight up, 180 folded flat back', kind: 'number', unit: 'deg', skip: 'Not measured' },
      { key: 'speed', ask: 'How fast did it come?', kind: 'number', unit: 'speed', skip: 'Not measured' },
      { key: 'took', ask: 'How long, adhesive included?', kind: 'number', unit: 'min', skip: 'Not measured' },
      { key: 'area', ask: 'How large was the strip?', kind: 'choice', of: [[90_000, '300 x 300 mm'], [40_000, '200 x 200 mm'], [150_000, '300 x 500 mm']], skip: 'Not measured' },
      { key: 'residue', ask: 'Adhesive left on the paint', kind: 'number', unit: '%', skip: 'Not judged' },
      { key: 'paint', ask: 'How did the paint come out?', kind: 'choice', of: [['sound', 'Sound'], ['chipped', 'Chipped'], ['peeled', 'Peeled off']] },
      { key: 'photo', ask: 'Photo of strip and paint', kind: 'photo', skip: 'No photo' },
    ],
    body: (got) => got,
    said: (got) => t`Trial strip: ${tr(got.place)}.`,
  },
  paint: {
    title: 'Paint', kind: 'paint', panel: true,
    fields: [
      { key: 'cure', ask: 'How was it painted?', kind: 'choice', of: [['factory', 'Factory, sound'], ['baked', 'Body shop, baked'], ['air-dried', 'Air-dried'], ['thick', 'Over filler, or thick'], ['unknown', 'Unknown']] },
      { key: 'painted', ask: 'When was it painted?', kind: 'date', when: (g) => g.cure !== 'factory', skip: 'Unknown' },
      { key: 'thickness', ask: 'Thickness, a reading at a time', kind: 'list', unit: 'um', skip: 'Not measured' },
      { key: 'source', ask: 'Who says so?', kind: 'choice', of: [["painter's note", "Painter's note"], ['owner', 'Owner'], ['unknown', 'Unknown']] },
    ],
    body: (got, at) => ({ ...got, panels: at.panel ? [at.panel] : [] }),
    said: () => t`Paint written down.`,
  },
  'patch-on': {
    title: 'Patches on', kind: 'patch', panel: true,
    fields: [{ key: 'places', ask: 'In how many places?', kind: 'choice', of: [[3, 'Three'], [2, 'Two'], [1, 'One']] }],
    body: (got, at) => ({ ...got, panel: at.panel, from: Math.round(at.now), to: 0, seen: '' }),
    said: () => t`Patches are on.`,
  },
  'patch-off': {
    title: 'Look at the patches', kind: 'patch', panel: true,
    fields: [
      { key: 'seen', ask: 'What do you see, light from the side?', kind: 'choice', of: [['nothing', 'Nothing'], ['bubbles', 'Pin-heads or bubbles'], ['paint-off', 'Paint came off']] },
      { key: 'coldest', ask: 'Coldest surface meanwhile', kind: 'number', unit: 'temp', skip: 'Not measured' },
      { key: 'warm', ask: 'Warmed on purpose, to', kind: 'number', unit: 'temp', skip: 'Not warmed' },
      { key: 'warm_for', ask: 'Warm for how long?', kind: 'number', unit: 'min', when: (g) => g.warm !== undefined },
      { key: 'photo', ask: 'Photo with a ruler', kind: 'photo', skip: 'No photo' },
    ],
    body: (got, at) => {
      const on = patchOn(at.view, at.panel);
      return { ...got, panel: at.panel, from: on?.from ?? 0, places: on?.places ?? 0, to: Math.round(at.now) };
    },
    said: () => t`Patches looked at.`,
  },
  heat: {
    title: 'Heated without the pacer', kind: 'heat', panel: true,
    fields: [
      { key: 'length', ask: 'How far was heated?', kind: 'number', unit: 'm' },
      { key: 'took', ask: 'How long did it take?', kind: 'number', unit: 'min', skip: 'Not timed' },
      { key: 'guns', ask: 'How many guns?', kind: 'choice', of: [[1, 'One'], [2, 'Two'], [3, 'Three']] },
      { key: 'rivets', ask: 'How many rivets?', kind: 'number', unit: 'n', skip: 'None' },
      { key: 'films', ask: 'Film behind the nozzle, a reading at a time', kind: 'list', unit: 'temp', skip: 'Not measured' },
      { key: 'instrument', ask: 'Read with?', kind: 'choice', of: [['contact', 'Touch'], ['infrared', 'Infrared']], when: (g) => g.films?.length > 0 },
      { key: 'emissivity', ask: 'Emissivity set to?', kind: 'choice', of: [[95_000, '0.95'], [92_000, '0.92'], [100_000, '1.00']], when: (g) => g.instrument === 'infrared' },
      { key: 'answer', ask: 'All of it?', kind: 'choice', of: [['part', 'A part'], ['done', 'All of it'], ['from-memory', 'From memory']] },
    ],
    body: (got, at) => ({ ...got, panel: at.panel }),
    said: (got) => (got.answer === 'part' ? t`Heated, a part.` : t`Heated.`),
  },
  'proof-plate': {
    title: 'Proof against the plate', kind: 'evidence',
    fields: [
      { key: 'passed', ask: 'Artwork beside the vehicle: is it for this one?', kind: 'choice', of: [[true, 'For this one'], [false, 'Not for it']] },
      { key: 'photo', ask: 'Photo of the plate beside the proof', kind: 'photo', when: (g) => g.passed !== false },
    ],
    body: (got) => ({ ...got, what: 'proof-plate' }),
    said: (got) => (got.passed ? t`Proof and plate fit.` : t`Not the proof for it.`),
  },
  risen: {
    title: 'Count what has risen', kind: 'evidence',
    fields: [
      { key: 'of', ask: 'How many did you look at?', kind: 'number', unit: 'n' },
      { key: 'count', ask: 'How many have risen?', kind: 'number', unit: 'n' },
    ],
    body: (got) => ({ ...got, what: 'risen', passed: true }),
    said: (got) => t`${got.count} of ${got.of} risen.`,
  },
};

/** The film of a panel: the newest line that names it, or else one for all.
 * @param {any} view @param {string} panel */
export function filmOf(view, panel) {
  const list = [...(view.films ?? [])].reverse();
  return list.find((f) => f.panels?.includes(panel)) ?? list.find((f) => !f.panels?.length);
}

/** The patches that are on. @param {any} view @param {string} panel */
export function patchOn(view, panel) {
  const last = (view.patches ?? []).filter((/** @type {any} */ p) => !p.panel || p.panel === panel).at(-1);
  return last && !last.to ? last : undefined;
}
