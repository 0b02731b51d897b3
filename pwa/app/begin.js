// @ts-check
// The first script of the page. The worker has the longest way to go, to the
// store and the core, so it sets out before anything else is read, and the core is
// compiled while it starts. It bears in its name what the page will show, for a
// message would wait until this thread has nothing better to do. What it says before
// anybody listens is kept for the one who takes it over (messenger.js).
(() => {
  const path = '/app/worker.js';
  const policy = /** @type {any} */ (globalThis).trustedTypes?.createPolicy('bayhold', { createScriptURL: () => path });
  const [, name, id = ''] = location.hash.split('/');
  const worker = new Worker(policy?.createScriptURL(path) ?? path, { type: 'module', name: `bayhold-first ${name === 'job' ? id : ''}` });
  /** @type {Event[]} */
  const said = [];
  const keep = (/** @type {Event} */ event) => said.push(event);
  for (const type of ['message', 'error']) worker.addEventListener(type, keep);
  // Without it the worker compiles the core itself, and says what is wrong.
  const give = (/** @type {WebAssembly.Module | undefined} */ core) => worker.postMessage({ type: 'core', core });
  WebAssembly.compileStreaming?.(fetch('/app/core.wasm')).then(give).catch(() => give(undefined));
  Object.assign(globalThis, {
    begun: {
      worker,
      /** Says again what nobody heard. */
      listen() {
        for (const type of ['message', 'error']) worker.removeEventListener(type, keep);
        for (const event of said) worker.dispatchEvent(event);
      },
    },
  });
})();
