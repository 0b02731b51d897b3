// @ts-check
// Vehicle sorts as data: which panels get film, in hang order (rear first, low
// before high on a side, hood last), and where the tape dots for readings
// stick. A shop takes panels away per job; ids stay.

/** @typedef {{id: string, name: string, zone: string, contour: boolean, primer: boolean}} Panel */
/** @typedef {{id: string, name: string, zone: string}} Spot */
/** @typedef {{key: string, name: string, route: string, panels: Panel[], spots: Spot[]}} Sort */

/** What panels of a kind of vehicle usually have, by words in their names. It is
 * offered for measuring and never stands for a measure.
 * @type {[RegExp, RegExp, {sort: string, name: string, shape?: string}][]} */
const features = [
  [/van/, /side/, { sort: 'channel', name: 'side channel', shape: 'V' }],
  [/van/, /sill/, { sort: 'channel', name: 'sill channel', shape: 'trapezoid' }],
  [/van|car/, /rear doors|tailgate|door/, { sort: 'channel', name: 'handle pocket', shape: 'trapezoid' }],
  [/car/, /wing/, { sort: 'dome', name: 'arch bulge' }],
  [/bus|truck|trailer/, /side|wall|skirt|drop/, { sort: 'rivets', name: 'rivet row' }],
  [/bus/, /corner/, { sort: 'dome', name: 'corner bulge' }],
];

/** @param {string} vehicle @param {string} id of a panel */
export function usual(vehicle, id) {
  const sort = sorts.find((s) => s.name.toLowerCase() === vehicle);
  const name = sort?.panels.find((p) => p.id === id)?.name ?? id;
  return features.filter(([of, on]) => of.test(vehicle ?? '') && on.test(name)).map(([, , f]) => f);
}

/** One panel from a short row: id, name, zone, and c for contour, p for primer.
 * @param {string} id @param {string} name @param {string} zone @param {string} [has] */
const panel = (id, name, zone, has = '') => ({ id, name, zone, contour: has.includes('c'), primer: has.includes('p') });

/** @param {string} name @param {string} zone @param {number} i */
const spot = (name, zone, i) => ({ id: String(i + 1), name, zone });

/** @param {[string, string][]} rows */
const spots = (rows) => rows.map(([name, zone], i) => spot(name, zone, i));

const vanPanels = [
  panel('rear', 'rear doors', 'upper', 'cp'),
  panel('left-sill', 'left sill', 'lower', 'cp'),
  panel('left-rear', 'left side rear', 'upper', 'c'),
  panel('left-front', 'left side front', 'upper', 'c'),
  panel('left-door', 'left front door', 'upper', 'cp'),
  panel('right-sill', 'right sill', 'lower', 'cp'),
  panel('right-rear', 'right side rear', 'upper', 'c'),
  panel('right-front', 'right side front', 'upper', 'c'),
  panel('right-door', 'right front door', 'upper', 'cp'),
  panel('hood', 'hood', 'upper', 'c'),
];
const vanSpots = spots([['rear left sill', 'lower'], ['rear right sill', 'lower'], ['left rear arch lip', 'lower'],
  ['rear door lower edge', 'lower'], ['left side mid-panel', 'upper'], ['front hinge post', 'upper']]);

/** @type {Sort[]} */
export const sorts = [
  { key: 'small-van', name: 'Small van', route: 'van', panels: vanPanels.filter((p) => !/side front/.test(p.name)), spots: vanSpots },
  { key: 'van', name: 'Medium van', route: 'van', panels: vanPanels, spots: vanSpots },
  { key: 'high-van', name: 'Long high-roof van', route: 'van',
    panels: [...vanPanels.slice(0, -1), panel('roof', 'roof', 'upper', 'c'), vanPanels[vanPanels.length - 1]], spots: vanSpots },
  { key: 'car', name: 'Car', route: 'van', panels: [
    panel('tail', 'tailgate', 'upper', 'cp'), panel('left-rear', 'left rear wing', 'upper', 'c'), panel('left-doors', 'left doors', 'upper', 'cp'),
    panel('left-sill', 'left sill', 'lower', 'c'), panel('right-rear', 'right rear wing', 'upper', 'c'), panel('right-doors', 'right doors', 'upper', 'cp'),
    panel('right-sill', 'right sill', 'lower', 'c'), panel('hood', 'hood', 'upper', 'c')],
    spots: spots([['left sill', 'lower'], ['right sill', 'lower'], ['tailgate lower edge', 'lower'], ['hood middle', 'upper']]) },
  { key: 'hood', name: 'Car, hood only', route: 'hood', panels: [panel('hood', 'hood', 'upper', 'c')],
    spots: spots([['hood middle', 'upper'], ['hood front edge', 'upper']]) },
  { key: 'bus', name: 'Bus, one side', route: 'bus-side', panels: [
    panel('rear-corner', 'rear corner', 'upper', 'c'), panel('skirt-rear', 'skirt rear', 'lower'), panel('side-1', 'side 1', 'upper'),
    panel('side-2', 'side 2', 'upper'), panel('skirt-mid', 'skirt middle', 'lower'), panel('side-3', 'side 3', 'upper'),
    panel('side-4', 'side 4', 'upper'), panel('skirt-front', 'skirt front', 'lower'), panel('door-front', 'front door', 'upper', 'c')],
    spots: spots([['lower rail rear', 'lower'], ['lower rail front', 'lower'], ['rear wheel arch', 'lower'], ['roof rail', 'upper'], ['mid-panel', 'upper']]) },
  { key: 'box', name: 'Box truck', route: 'van', panels: [
    panel('rear', 'rear frame and doors', 'upper'), panel('left-1', 'left wall rear', 'upper'), panel('left-2', 'left wall front', 'upper'),
    panel('right-1', 'right wall rear', 'upper'), panel('right-2', 'right wall front', 'upper'), panel('cab', 'cab doors', 'lower', 'c')],
    spots: spots([['left lower rail', 'lower'], ['right lower rail', 'lower'], ['left wall middle', 'upper'], ['cab sill', 'lower']]) },
  { key: 'trailer', name: 'Trailer', route: 'van', panels: [
    panel('rear', 'rear doors', 'upper'), panel('left-1', 'left wall rear', 'upper'), panel('left-2', 'left wall middle', 'upper'), panel('left-3', 'left wall front', 'upper'),
    panel('right-1', 'right wall rear', 'upper'), panel('right-2', 'right wall middle', 'upper'), panel('right-3', 'right wall front', 'upper'), panel('head', 'headboard', 'upper')],
    spots: spots([['left lower rail', 'lower'], ['right lower rail', 'lower'], ['left wall middle', 'upper']]) },
];

/** Length over all and height of a sort in mm, as they usually are: common
 * practice, from memory. It is offered, and never stands for a measure.
 * @type {Record<string, [number, number]>} */
export const sizes = {
  'small van': [4400, 1850], 'medium van': [5300, 2000], 'long high-roof van': [6900, 2800], car: [4500, 1500], 'car, hood only': [4500, 1500],
  'bus, one side': [12000, 3100], 'box truck': [7500, 3500], trailer: [13600, 4000],
};

/** A side in drops of the roll, the rear one first. @param {number} n */
export const drops = (n) => Array.from({ length: n }, (_, i) => panel('drop-' + (i + 1), i === 0 ? `drop ${i + 1}, rear` : i === n - 1 ? `drop ${i + 1}, front` : `drop ${i + 1}`, 'upper', i === 0 || i === n - 1 ? 'c' : ''));
