// @ts-check
// The app on the home screen. Where the browser offers it, its offer is kept
// until the person asks for it; it never comes up over work.

/** The browser's offer. @type {any} */
let offer = null;
/** @type {() => void} */
let changed = () => {};

addEventListener('beforeinstallprompt', (event) => {
  event.preventDefault();
  offer = event;
  changed();
});
addEventListener('appinstalled', () => {
  offer = null;
  changed();
});

/** @param {() => void} paint */
export const onOffer = (paint) => { changed = paint; };

/** Where this page runs: 'home' from the home screen; in a browser that offers
 * it 'offer', in one that only a person can tell 'share' (it has the sharing
 * sign, known by a property that it alone has) or 'menu'. */
export function where() {
  const standalone = /** @type {any} */ (navigator).standalone;
  if (standalone || matchMedia('(display-mode: standalone)').matches) return 'home';
  if (standalone !== undefined) return 'share';
  return offer ? 'offer' : 'menu';
}

/** Asks with the browser's own words; an offer holds for one question. */
export async function install() {
  const asked = offer;
  offer = null;
  await asked?.prompt();
  changed();
}
