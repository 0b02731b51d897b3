// @ts-check
// What a screen reader hears: one polite line for what was noted, one alarm
// for what was refused. The same words are on the screen.

/** @param {string} id @param {string} text */
function put(id, text) {
  const place = document.getElementById(id);
  if (!place) return;
  place.textContent = '';
  requestAnimationFrame(() => { place.textContent = text; });
}

/** @param {string} text */
export const say = (text) => put('said', text);

/** @param {string} text */
export const alarm = (text) => put('alarm', text);
