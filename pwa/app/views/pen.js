// @ts-check
// A finger on a canvas: what it draws, and the strokes that are kept of it.

/** Lifts the pen between two strokes. */
const LIFT = 0x7fff;

/** Draws, and adds to s.strokes. @param {PointerEvent} e @param {{strokes: number[], down?: number[] | null}} s */
export function pen(e, s) {
  const canvas = /** @type {HTMLCanvasElement} */ (e.currentTarget);
  if (e.type === 'pointermove' && !s.down) return;
  const box = canvas.getBoundingClientRect();
  const x = Math.round(((e.clientX - box.left) / box.width) * canvas.width);
  const y = Math.round(((e.clientY - box.top) / box.height) * canvas.height);
  const c = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
  c.strokeStyle = getComputedStyle(canvas).color;
  c.lineWidth = 5;
  c.lineCap = c.lineJoin = 'round';
  if (e.type === 'pointerdown') {
    s.down = [x, y];
    canvas.setPointerCapture(e.pointerId);
  }
  if (e.type === 'pointerup' || e.type === 'pointercancel') {
    s.down = null;
    s.strokes.push(LIFT, LIFT);
    return;
  }
  const [from, to] = s.down ?? [x, y];
  c.beginPath();
  c.moveTo(from, to);
  c.lineTo(x + 0.1, y);
  c.stroke();
  s.down = [x, y];
  s.strokes.push(x, y);
  e.preventDefault();
}

/** Takes the drawing away. @param {{strokes: number[]}} s @param {HTMLCanvasElement | null} canvas */
export function wipe(s, canvas) {
  s.strokes = [];
  canvas?.getContext('2d')?.clearRect(0, 0, canvas.width, canvas.height);
}

/** The strokes as a line keeps them: pairs of big-endian 16 bits. @param {number[]} strokes */
export function strokesOf(strokes) {
  const points = new Int16Array(strokes.slice(0, 4000));
  const bytes = new Uint8Array(points.length * 2);
  const out = new DataView(bytes.buffer);
  points.forEach((p, i) => out.setInt16(i * 2, p));
  return bytes;
}
