// @ts-check
// The vehicles' drawings, as data. A body is drawn as its film lies when it is
// unrolled: front at the top, the left side folded out to the left, the right
// side to the right, hood, roof and rear in a strip between them. So panels
// hang from the bottom up, rear first, and each laps over the one below it.
//
// A side is written once, as one sees the left side from outside: x runs from
// the front (0) to the rear (long), y from the roof (0) to the ground (high).
// The drawing turns it, and mirrors it for the right side. The strip in the
// middle has its own coordinates: x from left to right, y from front to rear.
//
// Sides and sills are drawn wider than they are: a glove has to hit them.

/** A part of the vehicle that a panel covers: on the left (L), the right (R) or
 * the strip (T), from x, y, wide and high in that face's coordinates.
 * @typedef {{face: 'L' | 'R' | 'T', x: number, y: number, w: number, h: number}} Region */

/** @typedef {{
 *   long: number, high: number, strip: number, sides?: 'L',
 *   side: string, glass: string, wheels: [number, number][],
 *   channels: string, domes: [number, number, number][],
 *   middle: string, middleGlass: string,
 *   panels: Record<string, Region | Region[]>,
 *   slices?: Record<string, Region>,
 * }} Body
 * side, glass, middle, middleGlass, channels: SVG paths; wheels: x and radius on
 * the ground; domes: x, y and radius; slices: what numbered panels share out,
 * rear first (left-1 is the rearmost part of left). */

/** @param {number} x @param {number} y @param {number} w @param {number} h @returns {(face: 'L' | 'R' | 'T') => Region} */
const at = (x, y, w, h) => (face) => ({ face, x, y, w, h });

/** The same piece on both sides, under both names: 'sill' gives left-sill and right-sill.
 * @param {Record<string, (face: 'L' | 'R' | 'T') => Region>} pieces @returns {Record<string, Region>} */
const both = (pieces) => Object.fromEntries(Object.entries(pieces).flatMap(([name, piece]) => [
  [name ? 'left-' + name : 'left', piece('L')], [name ? 'right-' + name : 'right', piece('R')]]));

/** @param {number} x @param {number} y @param {number} w @param {number} h */
const strip = (x, y, w, h) => at(x, y, w, h)('T');

/** The pieces of a van's side by the names that shops give them.
 * @param {number} nose where the front door begins @param {number} door where it ends @param {number} half between side front and side rear
 * @param {number} long @param {number} waist @param {number} high */
const vanSide = (nose, door, half, long, waist, high) => both({
  wing: at(0, 0, nose, waist), door: at(nose, 0, door - nose, waist), doors: at(nose, 0, door - nose, waist),
  front: at(door, 0, half - door, waist), rear: at(half, 0, long - half, waist),
  sill: at(0, waist, long, high - waist), lower: at(0, waist, long, high - waist),
  shoulder: at(nose, 0, long - nose, waist), side: at(nose, 0, long - nose, waist), '': at(nose, 0, long - nose, waist),
});

/** Panels of the strip under every name that is in use. @param {Region} hood @param {Region} roof @param {Region} rear */
const middle = (hood, roof, rear) => ({ hood, bonnet: hood, roof, rear, 'rear-doors': rear, tail: rear });

/** @param {Record<string, Region | Region[]>} panels */
const withSills = (panels) => ({ ...panels, sills: [/** @type {Region} */ (panels['left-sill']), /** @type {Region} */ (panels['right-sill'])] });

/** @type {Record<string, Body>} */
export const bodies = {
  car: {
    long: 330, high: 138, strip: 82,
    side: 'M8 138 3 116Q2 92 24 84L98 70 142 22Q150 14 166 13L238 14Q256 15 268 26L300 66 322 76Q330 82 329 104L326 138H298A30 30 0 0 0 238 138H110A30 30 0 0 0 50 138Z',
    glass: 'M112 68 148 28Q152 23 160 23L188 23V68ZM196 23 240 24Q250 25 256 32L282 66H196Z',
    wheels: [[80, 23], [268, 23]], channels: 'M96 84H300M150 92h18M224 92h18', domes: [[104, 66, 8], [268, 92, 12]],
    middle: 'M6 26Q6 4 41 4T76 26V304Q76 326 41 326T6 304Z', middleGlass: 'M12 104Q41 92 70 104L64 136Q41 128 18 136ZM18 224Q41 232 64 224L70 250Q41 258 12 250Z',
    panels: withSills({
      ...both({ wing: at(0, 0, 104, 84), doors: at(104, 0, 136, 84), door: at(104, 0, 86, 84), rear: at(240, 0, 90, 84), sill: at(0, 84, 330, 54), lower: at(0, 84, 330, 54),
        side: at(104, 0, 226, 84), shoulder: at(0, 0, 330, 84), '': at(104, 0, 226, 84) }),
      ...middle(strip(0, 0, 82, 100), strip(0, 138, 82, 84), strip(0, 254, 82, 76)),
    }),
  },
  smallVan: {
    long: 330, high: 138, strip: 82,
    side: 'M6 138 4 112Q4 94 18 88L74 72 112 18Q118 10 132 9L318 8Q328 8 329 20L330 138H300A29 29 0 0 0 242 138H108A29 29 0 0 0 50 138Z',
    glass: 'M88 68 118 24Q122 18 132 18H168V68Z', wheels: [[79, 23], [271, 23]], channels: 'M176 74H322M154 84h16', domes: [[86, 68, 9]],
    middle: 'M6 26Q6 4 41 4T76 26V322H6Z', middleGlass: 'M12 92Q41 82 70 92L66 124Q41 116 16 124Z',
    panels: withSills({ ...vanSide(78, 178, 232, 330, 82, 138), ...both({ rear: at(178, 0, 152, 82) }),
      ...middle(strip(0, 0, 82, 88), strip(0, 126, 82, 94), strip(0, 222, 82, 108)) }),
  },
  van: {
    long: 344, high: 140, strip: 78,
    side: 'M6 140 4 112Q4 96 16 90L64 72 100 16Q106 8 120 7L332 6Q342 6 343 18L344 140H312A29 29 0 0 0 254 140H102A29 29 0 0 0 44 140Z',
    glass: 'M76 68 106 22Q110 16 120 16H148V68Z', wheels: [[73, 23], [283, 23]], channels: 'M160 64H336M166 72H336M136 84h16', domes: [[76, 68, 9]],
    middle: 'M5 24Q5 4 39 4T73 24V338H5Z', middleGlass: 'M10 82Q39 72 68 82L64 112Q39 104 14 112Z',
    panels: withSills({ ...vanSide(68, 158, 250, 344, 82, 140), ...middle(strip(0, 0, 78, 78), strip(0, 114, 78, 108), strip(0, 224, 78, 120)) }),
  },
  highVan: {
    long: 372, high: 144, strip: 70,
    side: 'M6 144 4 118Q4 102 14 97L54 84 88 30Q98 6 124 4L358 3Q370 3 371 16L372 144H336A29 29 0 0 0 278 144H96A29 29 0 0 0 38 144Z',
    glass: 'M66 80 94 36Q97 30 106 30H134V80Z', wheels: [[67, 23], [307, 23]], channels: 'M146 66H364M152 75H364M124 92h16M160 16H350', domes: [[66, 80, 9]],
    middle: 'M5 22Q5 4 35 4T65 22V366H5Z', middleGlass: 'M9 78Q35 68 61 78L58 106Q35 98 12 106Z',
    panels: withSills({ ...vanSide(60, 144, 258, 372, 86, 144), ...middle(strip(0, 0, 70, 74), strip(0, 110, 70, 130), strip(0, 242, 70, 130)) }),
  },
  box: {
    long: 344, high: 140, strip: 78,
    side: 'M6 140 4 104Q4 92 12 86L34 40Q38 32 50 32H78V4H344V106H326A29 29 0 0 0 268 106V140H256L250 112H96V140A27 27 0 0 0 42 140Z',
    glass: 'M26 82 42 46Q44 42 50 42H70V82Z', wheels: [[69, 22], [297, 22]], channels: 'M84 12H338M84 98H338', domes: [[28, 84, 8]],
    middle: 'M5 20Q5 4 39 4T73 20V64H78V344H0V64H5Z', middleGlass: 'M10 22Q39 12 68 22L66 50Q39 44 12 50Z',
    panels: {
      ...both({ '': at(80, 0, 264, 106), side: at(80, 0, 264, 106), cab: at(0, 24, 80, 116) }),
      cab: [at(0, 24, 80, 116)('L'), at(0, 24, 80, 116)('R')], ...middle(strip(0, 0, 78, 20), strip(0, 66, 78, 160), strip(0, 228, 78, 116)),
    },
    slices: both({ '': at(80, 0, 264, 106) }),
  },
  trailer: {
    long: 384, high: 140, strip: 78,
    side: 'M4 4H380V110H350A24 24 0 0 0 308 110 24 24 0 0 0 266 110 24 24 0 0 0 224 110H60L54 140H44V110H4Z',
    glass: '', wheels: [[245, 18], [287, 18], [329, 18]], channels: 'M8 14H376M8 100H376M130 6V108M256 6V108', domes: [],
    middle: 'M2 2H76V382H2Z', middleGlass: '',
    panels: { ...both({ '': at(0, 0, 384, 112), side: at(0, 0, 384, 112) }), head: strip(0, 0, 78, 96), ...middle(strip(0, 0, 78, 96), strip(0, 98, 78, 166), strip(0, 266, 78, 118)) },
    slices: both({ '': at(0, 0, 384, 112) }),
  },
  bus: {
    long: 420, high: 214, strip: 0, sides: 'L',
    side: 'M6 206 2 150Q2 60 10 26Q14 6 34 5L398 4Q416 4 418 24L420 206H366A34 34 0 0 0 298 206H118A34 34 0 0 0 50 206Z',
    glass: 'M14 34Q16 18 30 18H50V120H10ZM58 22H112V172H58ZM122 22H396V74H122Z', wheels: [[84, 27], [332, 27]],
    channels: 'M122 84H414M122 142H414M196 84v58M270 84v58M344 84v58', domes: [],
    middle: '', middleGlass: '',
    panels: {
      'rear-corner': at(362, 0, 58, 146)('L'), 'door-front': at(0, 0, 118, 146)('L'),
      'skirt-front': at(0, 146, 140, 68)('L'), 'skirt-mid': at(140, 146, 140, 68)('L'), 'skirt-rear': at(280, 146, 140, 68)('L'),
    },
    slices: { side: at(118, 0, 244, 146)('L'), drop: at(0, 0, 420, 214)('L') },
  },
  hood: {
    long: 0, high: 0, strip: 300,
    side: '', glass: '', wheels: [], channels: 'M90 60Q110 130 84 214M210 60Q190 130 216 214', domes: [[150, 120, 26]],
    middle: 'M20 92Q26 10 150 8T280 92L268 216Q150 190 32 216Z', middleGlass: 'M32 226Q150 200 268 226L256 252Q150 230 44 252Z',
    panels: { hood: strip(14, 4, 272, 216), bonnet: strip(14, 4, 272, 216) },
  },
};

/** Which drawing fits, by what the vehicle is called; a van where nothing tells.
 * @param {string} vehicle @param {string[]} ids of the panels that get film */
export function bodyOf(vehicle, ids) {
  const name = vehicle.toLowerCase();
  if (ids.length && ids.every((id) => id === 'hood' || id === 'bonnet')) return bodies.hood;
  if (/bus|coach|tram/.test(name)) return bodies.bus;
  if (/trailer/.test(name)) return bodies.trailer;
  if (/box/.test(name)) return bodies.box;
  if (/\bcar\b|estate|saloon|hatch/.test(name)) return bodies.car;
  if (/small van/.test(name)) return bodies.smallVan;
  if (/high/.test(name)) return bodies.highVan;
  return bodies.van;
}

/** How large the drawing is. @param {Body} b @returns {[number, number]} */
export const sizeOf = (b) => [b.high * (b.sides ? 1 : 2) + b.strip, b.long || 260];

/** Where a face stands in the drawing: an SVG matrix. @param {Body} b @param {string} face */
export const matrix = (b, face) => (face === 'L' ? `matrix(0 1 -1 0 ${b.high} 0)` : face === 'R' ? `matrix(0 1 1 0 ${b.high + b.strip} 0)` : `translate(${b.high} 0)`);

/** The box of a region in the drawing. @param {Body} b @param {Region} r */
export function box(b, r) {
  if (r.face === 'L') return { x: b.high - r.y - r.h, y: r.x, w: r.h, h: r.w };
  if (r.face === 'R') return { x: b.high + b.strip + r.y, y: r.x, w: r.h, h: r.w };
  return { x: b.high + r.x, y: r.y, w: r.w, h: r.h };
}

/** The regions of a panel, none if this body has no such panel. Panels that end
 * in a number share out a slice of the body, rear first.
 * @param {Body} b @param {string} id @param {string[]} ids of the job @returns {Region[]} */
export function regionsOf(b, id, ids) {
  const known = b.panels[id];
  if (Array.isArray(known)) return known;
  // A whole side goes down to the ground where no panel of its own covers the sill.
  if (known && /^(left|right)(-side)?$/.test(id) && b.panels['left-sill'] && !ids.some((i) => /sill|lower/.test(i))) return [{ ...known, h: b.high - known.y }];
  if (known) return [known];
  const [, name, n] = /^(.+)-(\d+)$/.exec(id) ?? [];
  const whole = name && b.slices?.[name];
  if (!whole) return [];
  const all = ids.filter((i) => i.startsWith(name + '-') && /-\d+$/.test(i)).length;
  const part = whole.w / Math.max(all, Number(n));
  return [{ ...whole, x: whole.x + whole.w - part * Number(n), w: part }];
}
