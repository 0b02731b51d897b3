// @ts-check
// What a person is told when this phone's store had to be made anew: what was
// saved of it, and what was not.

/** @typedef {{lines: number, photos: number}} Only what was on this phone alone */

/**
 * @param {Only} was as the page remembers it, outside the store
 * @param {Only} saved
 */
export function sentence(was, saved) {
  const lines = Math.max(was.lines, saved.lines), photos = Math.max(was.photos, saved.photos);
  const said = ['This phone lost its store.'];
  if (lines === 0) said.push('No line is missing, the shop has them all.');
  else if (saved.lines === lines) said.push(`Saved: ${count(lines, 'line')} that the shop does not have yet.`);
  else said.push(`Saved: ${saved.lines} of ${count(lines, 'line')} that the shop does not have. Write the others again.`);
  if (saved.photos < photos) said.push(`Lost: ${count(photos - saved.photos, 'photo')}. Take them again.`);
  return said.join(' ');
}

/** @param {number} n @param {string} what */
const count = (n, what) => `${n} ${what}${n === 1 ? '' : 's'}`;
