// @ts-check
// Day or night, set before the first paint: what the person chose on this
// phone, otherwise what the phone itself says, followed as it changes.
(() => {
  const dark = matchMedia('(prefers-color-scheme: dark)');
  const set = () => {
    const chosen = localStorage.getItem('daynight');
    document.documentElement.dataset.light = chosen || (dark.matches ? 'night' : 'day');
  };
  dark.addEventListener('change', set);
  addEventListener('daynight', set);
  set();
})();
