// @ts-check
// A screen is drawn bit by bit: what a phone shows first at once, the rest in
// tasks of their own with a frame between two, so that a tap waits for none of
// it. A painting draws from the views of its moment and only asks how far it may
// go by now: what comes in meanwhile is drawn as far, and nothing old is left.
// Whatever is drawn stands behind what was drawn before it, so that nothing
// moves. A screen that has been whole once is painted whole.

/** What a task draws, in rows of a list. First comes what stands above the list
 * alone: with it a phone that was just switched on meets most of the screen's letters
 * for the first time, which takes it longer than rows. */
const ROWS = 4;

/** Which screen, how far it may be drawn, and how far it would go. */
let screen = '', may = 0, asked = 0, due = false;

/** Whether this much more of the screen is drawn by now. Once it is not, neither
 * is anything that is asked for behind it. @param {number} [rows] without: as much as a task draws */
export const bit = (rows = ROWS) => (asked += rows) <= may;

/** Whether all that was asked for so far is drawn. */
export const whole = () => asked <= may;

/** Whether the screen has been whole, and was seen so for a frame. */
export const settled = () => may === Infinity;

/** A task of its own, once what was done so far is on screen. @param {() => void} task */
export const afterFrame = (task) => requestAnimationFrame(() => setTimeout(task));

/** @param {string} name of the screen @param {() => void} draw @param {() => void} again paints once more
 * @returns {boolean} whether there is more to draw */
export function inBits(name, draw, again) {
  if (name !== screen) [screen, may] = [name, 0];
  asked = 0;
  draw();
  if (!asked || settled() || due) return due;
  due = true;
  afterFrame(() => {
    due = false;
    if (name === screen) may = whole() ? Infinity : may + ROWS;
    again();
  });
  return due;
}
