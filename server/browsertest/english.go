package browsertest

// English is the expression of what a page says in English while it speaks
// Spanish: every text and label that is the English side of a row of the app's
// catalogue, whole or with something filled in. Texts that are alike in both are
// none, and a row with fewer than eight letters around its gaps tells nothing.
const English = `fetch('/app/spanish.txt').then((r) => r.text()).then((text) => {
  const rows = text.split('\n').filter((line) => line[0] !== '#' && line.includes(' = ')).map((line) => line.split(' = ')).filter(([e, s]) => e !== s);
  const english = new Set(rows.map(([e]) => e)), spanish = new Set(rows.map(([, s]) => s));
  const filled = rows.filter(([e]) => e.includes('{1}') && e.replace(/\{\d\}|[^a-zA-Z]/g, '').length > 7)
    .map(([e]) => new RegExp('^' + e.replace(/[.*+?^$()|[\]\\]/g, '\\$&').replace(/\{\d\}/g, '.+') + '$'));
  const said = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) said.push(walk.currentNode.data);
  for (const name of ['aria-label', 'placeholder', 'alt']) for (const el of document.querySelectorAll('[' + name + ']')) said.push(el.getAttribute(name));
  return [...new Set(said.map((s) => s.trim().replace(/\s+/g, ' ')))]
    .filter((s) => (english.has(s) && !spanish.has(s)) || filled.some((f) => f.test(s))).map((s) => 'English: ' + s);
})`
