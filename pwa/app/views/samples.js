// @ts-check
// Invented views of an invented shop on a winter Wednesday at 08:00, for the
// design page and, with testdata/fake/samples.js, the screenshots. Written as the core writes them.

const H = 3_600_000, M = 60_000;

/** Wednesday 14 January 2026, 08:00 in the shop. */
export const NOW = Date.UTC(2026, 0, 14, 7, 0);

/** @param {string} stage @param {string} name @param {string} state @param {string} text @param {any} [more] */
export const gate = (stage, name, state, text, more = {}) => ({
  stage, name, panel: '', panel_name: '', zone: '', state, cause: '', causes: [], text, out: '', cond: '', until: 0, counted: 0, needed: 0,
  running: false, ask: '', waived: false, waivable: false,
  word: { open: 'start now', waits: 'from', held: 'stopped by', unknown: 'no reading', done: 'done' }[state], ...more,
});

/** The answers of the five vehicles, by their labels. */
export const gates = {
  V1: gate('wipe', 'Final wipe', 'open', 'Final wipe again: too old since ⟨t:1768373460000⟩.', { panel: 'left-front', panel_name: 'left side front' }),
  V2: gate('window', 'Temperature', 'unknown', 'rear left sill: last read ⟨t:1768361400000⟩.', { ask: '1', zone: 'lower', out: 'Read rear left sill to open.' }),
  V3: gate('dry', 'Dry', 'waits', 'Drying: ⟨h:70920000⟩ of ⟨h:86400000⟩ counted.', { until: NOW + 4 * H + 20 * M, counted: 19.7 * H, needed: 24 * H, running: true }),
  V4: gate('patch-test', 'Gas patch test', 'held', 'Patch test not valid: hood stayed under ⟨c:20000⟩.', { out: 'Repeat it at ⟨c:20000⟩ or warmer.', causes: ['patch-failed'], waivable: true }),
  V5: gate('dry', 'Dry', 'held', 'Wet: rear left sill ⟨c:7600⟩, dew point ⟨c:15400⟩. Drying starts over.', {
    zone: 'lower', out: 'Flush with outside air, then vented heat. Read again.', cond: '⟨h:43200000⟩ counted after rear left sill is ⟨k:3000⟩ above the dew point.',
    counted: 0, needed: 12 * H, causes: ['wet'], waivable: true }),
  V6: gate('lay', 'Lay', 'done', 'All steps are done.'),
  walk: gate('inspection', 'Look over clean paint', 'held', 'Chip on rear doors.', { out: 'Owner must answer, or the panel stays bare.', causes: ['finding'], cause: 'finding' }),
  soon: gate('primer', 'Primer', 'waits', 'Primer tack-dry at ⟨t:1768374360000⟩, at ⟨c:19300⟩.', { panel: 'left-door', panel_name: 'left front door', until: NOW + 6 * M }),
};

/** @param {string} id @param {string} name @param {string} zone @param {string} state @param {number} until @param {any} g */
export const panel = (id, name, zone, state, until, g) => ({ id, name, zone, contour: true, primer: zone === 'upper', wipe: { state, until }, gate: g });

export const upperOpen = gate('window', 'Temperature', 'open', 'Warm enough: left shoulder ⟨c:19300⟩, ⟨k:15900⟩ above dew point.', { zone: 'upper' });

/** @type {Record<string, any[]>} */
export const panels = {
  V1: [
    panel('rear', 'rear doors', 'upper', 'none', 0, null), panel('left-sill', 'left sill', 'lower', 'none', 0, gates.V5),
    panel('left-rear', 'left side rear', 'upper', 'none', 0, null), panel('left-front', 'left side front', 'upper', 'none', 0, gates.V1),
    panel('left-door', 'left front door', 'upper', 'good', NOW + 14 * M, gate('lay', 'Lay', 'open', 'Wiped. Good until ⟨t:1768374840000⟩.', { panel: 'left-door', panel_name: 'left front door' })),
    panel('right-sill', 'right sill', 'lower', 'none', 0, gates.V5), panel('right-rear', 'right side rear', 'upper', 'none', 0, null),
    panel('right-front', 'right side front', 'upper', 'stale', NOW - 9 * M, gate('wipe', 'Final wipe', 'open', 'Final wipe again: too old since ⟨t:1768373460000⟩.', { panel: 'right-front', panel_name: 'right side front' })),
    panel('right-door', 'right front door', 'upper', 'spoiled', NOW - 20 * M, gate('wipe', 'Final wipe', 'open', 'Final wipe again: bay door open at ⟨t:1768372800000⟩.', { panel: 'right-door', panel_name: 'right front door' })),
    panel('hood', 'hood', 'upper', 'good', NOW + 4 * M, gate('lay', 'Lay', 'open', 'Wiped. Good until ⟨t:1768374240000⟩.', { panel: 'hood', panel_name: 'hood' })),
  ],
};
