// @ts-check
// The page stands still under the hand. A line of somebody else's, or the answer to
// one's own, changes what stands higher up; a hand that goes from dot to dot finds the
// next one where it saw it all the same. Browsers hold a page so by themselves (CSS
// Scroll Anchoring); WebKit, the iPhone's, does not. There what was touched last keeps
// its place on the screen, or, with none in sight, what is in the middle. At the very
// top nothing is held, here or there: that is where one looks at the answer.

const needed = !CSS.supports('overflow-anchor', 'auto');

/** What the hand touched last on the page. @type {Element | null} */
let touched = null;

/** What is held, and where on the screen it was. @type {{e: Element, y: number}[]} */
let held = [];

/** Whether the page was scrolled since. */
let scrolled = false;

/** @param {Element} e */
const top = (e) => e.getBoundingClientRect().y;

/** @param {Element | null | undefined} e @returns {e is Element} */
function inSight(e) {
  if (!e?.isConnected) return false;
  const r = e.getBoundingClientRect();
  return r.height > 0 && r.bottom > 0 && r.y < innerHeight;
}

/** Notes what is to stand still, before the page is painted, and puts it back in the
 * next frame, whose layout it has to wait for anyway. */
export function hold() {
  if (!needed || !scrollY || held.length) return;
  const from = scrollY;
  const amid = document.elementsFromPoint(innerWidth / 2, innerHeight / 2).find((e) => e.matches('main *') && !e.matches('main > div'));
  held = [touched, amid].filter(inSight).map((e) => ({ e, y: top(e) }));
  if (!held.length) return;
  scrolled = false;
  requestAnimationFrame(() => {
    const still = scrollY && held.find(({ e }) => e.getClientRects().length); // another screen begins at its top
    held = [];
    // A finger may have scrolled meanwhile. A page that became shorter scrolls by itself.
    const by = still ? top(still.e) - still.y + (scrolled ? scrollY - from : 0) : 0;
    if (Math.abs(by) >= 1 && Math.abs(by) < innerHeight) scrollBy(0, by); // further than that it went itself, up or down a list
  });
}

/** @param {HTMLElement} page */
export function feel(page) {
  page.addEventListener('pointerdown', (e) => {
    touched = /** @type {Element} */ (e.target).closest('main :is(button, a, input, select, textarea, summary, label)');
  }, { capture: true, passive: true });
  addEventListener('scroll', () => { scrolled = true; }, { passive: true });
}
