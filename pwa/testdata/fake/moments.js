// Invented moments of the whole job for the screenshot tests: one for each
// proof that a step can want, and the shop's numbers and steps.
import { gate, head, job as sample, NOW, people } from '/app/samples.js';

const H = 3_600_000;

/** Moments of the whole job that no vehicle of the list stands at, by the proof
 * that their step wants. */
const moments = /** @type {Record<string, any>} */ ({
  checkin: gate('check-in', 'Walk round at check-in', 'open', 'Start now: Walk round at check-in.'),
  strip: gate('strip', 'Take trim off', 'open', 'Start now: Take trim off.'),
  survey: gate('survey', 'Measure the contours', 'open', 'Nothing measured on left side rear.', { panel: 'left-rear', panel_name: 'left side rear' }),
  film: gate('film', 'Film', 'open', 'No film for left side rear yet.', { panel: 'left-rear', panel_name: 'left side rear', out: 'Type the film from its box and sheet.' }),
  refused: gate('film', 'Film', 'held', 'Film refused on left side rear.', { panel: 'left-rear', panel_name: 'left side rear', out: 'Another film, leave it bare, repair, or owner\'s own risk.', cause: 'film-refused', causes: ['film-refused'] }),
  asks: gate('old-film', 'What film is it?', 'open', 'How old is the film? Nobody asked yet.'),
  signs: gate('removal-risk', 'Owner signs the risk', 'open', 'Signature missing: owner.'),
  trials: gate('trial-strips', 'Trial strips', 'open', '1 of 3 trial strips pulled.'),
  paint: gate('paint', 'Fresh paint', 'open', 'Nobody said how old the paint is.', { panel: 'hood', panel_name: 'hood' }),
  patch: gate('patch-test', 'Gas patch test', 'open', 'No patch test on hood.', { panel: 'hood', panel_name: 'hood' }),
  fit: gate('dry-fit', 'Dry fit', 'open', 'Start now: Dry fit.', { panel: 'left-rear', panel_name: 'left side rear' }),
  lay: gate('lay', 'Lay', 'open', 'Start now: Lay.', { panel: 'left-rear', panel_name: 'left side rear' }),
  heat: gate('post-heat', 'Post-heat', 'open', '0.8 m of 3.4 m heated.', { panel: 'left-rear', panel_name: 'left side rear' }),
  edges: gate('edge-check', 'Edges, by another hand', 'open', 'Start now: Edges, by another hand.', { panel: 'left-rear', panel_name: 'left side rear' }),
  pin: gate('edge-check', 'Edges, by another hand', 'held', 'Edge up on left side rear.', { panel: 'left-rear', panel_name: 'left side rear', cause: 'edge-pin', causes: ['edge-pin'], waivable: true, out: 'Do it again, then close the pin.' }),
  early: gate('hand-over', 'Hand over', 'held', 'Not rested: the owner must sign the early release.', { cause: 'early-release' }),
  rest: gate('rest', 'Rest warm', 'waits', 'Rest: ⟨h:23400000⟩ of ⟨h:43200000⟩ counted.', { counted: 6.5 * H, needed: 12 * H, running: true, until: NOW + 5.5 * H }),
  wet: gate('dry', 'Dry', 'held', 'Wet: rear left sill ⟨c:7600⟩, dew point ⟨c:15400⟩. Drying starts over.', { zone: 'lower', cause: 'wet', causes: ['wet'], ask: '1', waivable: true, out: 'Flush with outside air, then vented heat. Read again.' }),
  risen: gate('re-check', 'Look again at recesses', 'held', 'Signature missing: owner.', { cause: 'risen', causes: ['risen'], waivable: true }),
  count: gate('re-check', 'Look again at recesses', 'open', 'Start now: Look again at recesses.'),
  handover: gate('hand-over', 'Hand over', 'open', 'Signature missing: driver.'),
  callback: gate('call-back', 'Call back', 'waits', '⟨h:604800000⟩ after: Hand over. From ⟨t:1768982400000⟩.', { until: NOW + 7 * 24 * H }),
});

/** The steps of a moment: its route's, each with the proof that it wants.
 * @type {Record<string, [string, string, string, string, any?][]>} */
const paths = {
  van: [['check-in', 'Walk round at check-in', 'vehicle', 'walk', { what: 'check-in', signers: ['owner'], caution: 'One moves, one watches. Keys on the board.' }], ['strip', 'Take trim off', 'vehicle', 'tick'], ['wash', 'Wash', 'vehicle', 'tick'],
    ['inspection', 'Look over clean paint', 'vehicle', 'walk', { what: 'inspection', signers: ['installer', 'owner'] }],
    ['survey', 'Measure the contours', 'panel', 'survey', { bench: true }], ['film', 'Film', 'panel', 'film', { bench: true }], ['print', 'Print', 'vehicle', 'tick', { bench: true }], ['laminate', 'Laminate', 'vehicle', 'tick', { bench: true }], ['film-in', 'Film into the bay', 'vehicle', 'tick', { bench: true }],
    ['dry', 'Dry', 'zone', 'hours'], ['dry-fit', 'Dry fit', 'panel', 'tick'], ['window', 'Temperature', 'zone', 'window'], ['wipe', 'Final wipe', 'panel', 'tick'], ['primer', 'Primer', 'panel', 'primer'], ['lay', 'Lay', 'panel', 'tick'],
    ['settle', 'Look for spring-back', 'panel', 'tick'], ['trim', 'Cut and tuck edges', 'panel', 'tick'], ['post-heat', 'Post-heat', 'panel', 'heat', { caution: 'Nozzle over 400 C: stand, away from airbags, tyres and fuel flap.' }], ['edge-check', 'Edges, by another hand', 'panel', 'edges'],
    ['refit', 'Trim back on, lamps tested', 'vehicle', 'tick'], ['rest', 'Rest warm', 'vehicle', 'rest'], ['re-check', 'Look again at recesses', 'vehicle', 'count', { what: 'risen' }],
    ['hand-over', 'Hand over', 'vehicle', 'signs', { what: 'hand-over', signers: ['owner', 'driver'] }], ['call-back', 'Call back', 'vehicle', 'tick', { free: true }]],
  old: [['check-in', 'Walk round at check-in', 'vehicle', 'walk', { what: 'check-in', signers: ['owner'] }],
    ['old-film', 'What film is it?', 'vehicle', 'answers', { asks: [{ key: 'film-age', text: 'How old is the film?', answer: '', choices: ['under 1 year', '1 to 3 years', '3 to 5 years', '5 to 7 years', 'over 7 years'] }] }],
    ['trial-strips', 'Trial strips', 'vehicle', 'trials'], ['removal-risk', 'Owner signs the risk', 'vehicle', 'signs', { what: 'removal-risk', signers: ['owner'] }],
    ['pull', 'Heat and pull', 'panel', 'tick'], ['paint', 'Fresh paint', 'panel', 'paint'], ['patch-test', 'Gas patch test', 'panel', 'patch'], ['wash', 'Wash', 'vehicle', 'tick']],
};

/** @param {any} now */
function path(now) {
  const rows = paths[paths.old.some(([key]) => key === now.stage && key !== 'check-in') ? 'old' : 'van'];
  const at = rows.findIndex(([key]) => key === now.stage);
  return rows.map(([key, name, per, proof, more], i) => {
    const g = i < at ? gate(key, name, 'done', '') : i === at ? now : gate(key, name, 'held', `${rows[at][1]} first.`);
    return { key, name, per, proof, tap: proof === 'tick' || proof === 'primer', what: '', signers: [], asks: [], free: false, bench: false, caution: '', gates: key === 'survey' ? [g, { ...g, panel: 'left-front', panel_name: 'left side front' }] : [g], state: g.state, text: g.text, done: i < at ? 1 : 0, all: 1, ...more };
  });
}

const pinned = { findings: [{ writer: 'w', seq: 40, panel: 'left-rear', place: 'low, rear', what: 'edge up', photo: '', note: '', walk: 'edges', size: 20_000, answer: '', answers: [] }] };

const work = {
  films: [{ panels: [], family: 'cast-print', laminate: 'cast', adhesive: 'permanent', sheet: 'print film 55', batch: 'B-2207', roll: '14', printed: true, thickness: 55, months: 60, limits: [] }],
  features: [{ panel: 'left-rear', id: 'channel-1', sort: 'channel', name: 'side channel', width: 80_000, depth: 15_000, length: 2_400_000, count: 0, plan: 'stretch' },
    { panel: 'left-rear', id: 'rivets-1', sort: 'rivets', name: 'rivet row', width: 0, depth: 0, length: 1_000_000, count: 24, plan: '' }],
  heats: [{ panel: 'left-rear', length: 800_000, rivets: 0, answer: 'part' }], trials: [{ place: 'side', residue: 20_000, paint: 'sound' }], patches: [],
  care: [{ key: 'rain', from: NOW + 12 * H, better: NOW + 12 * H }, { key: 'hand-wash', from: NOW + 60 * H, better: NOW + 60 * H }, { key: 'jet-wash', from: NOW + 156 * H, better: NOW + 324 * H }, { key: 'brush-wash', from: 0, better: 0 }],
};

export const rules = () => ({
  ...head('rules', people[1]), default: false,
  rules: [['surface_floor', 15_556, 'mC', 'coldest surface to lay on contours (60 F)', 'common practice, no source'], ['margin', 3000, 'mK', 'coldest surface above the dew point, to lay and to count', 'ISO 8502-4 asks 3 K before paint on steel; by analogy here'],
    ['dry_rh', 70_000, 'm%', 'dampest air in which drying hours count', 'trade memory'], ['dry_hours', 12 * H, 'ms', 'counted hours to dry, blown out (overnight indoors)', 'common practice, no source'], ['card_strips', 6, 'n', 'card strips drawn dry that count as a test', 'trade memory']]
    .map(([key, usual, unit, what, source]) => ({ key, value: key === 'card_strips' ? 8 : usual, usual, unit, what, source })),
  routes: [['van', 'Van wrap'], ['removal', 'Remove and wrap again']].map(([key, name]) => {
    const steps = paths.van.map(([key, name, per, , more]) => ({ key, name, per, caution: more?.caution ?? '', after: false }));
    return { key, name, own: key === 'van', steps: steps.slice(1), usual: steps };
  }),
});

/** A job at one of the moments, or one of the sample vehicles. @param {string} id */
export function job(id) {
  const now = moments[id.slice(4)];
  return now ? { ...sample('job-V1'), ...work, ...(id === 'job-pin' ? pinned : {}), hang: ['left-rear', 'hood'], circle: '', panels: sample('job-V1').panels.map((p) => (p.id === 'left-rear' ? { ...p, rating: 'first choice', why: '', facts: [{ id: 'channel-1', bridged: '7 %', floor: '5.4 mm', verdict: 'lay', primer: 'ends and lips', look: true, near: false }] } : p)), id, gate: now, stages: path(now) } : sample(id);
}
