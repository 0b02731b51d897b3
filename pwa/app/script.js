// @ts-check
// The one way in which a page of the shop's begins another script, a worker. The
// server's policy has the browser take no mere string for where one is (Trusted
// Types), so that nothing that a person typed can ever become one.

const policy = /** @type {any} */ (globalThis).trustedTypes?.createPolicy('bayhold', { createScriptURL: own });

/** @param {string} path */
function own(path) {
  if (!/^\/(?!\/)[\w./-]*$/.test(path)) throw new TypeError(`${path} is no script of the shop's`);
  return path;
}

/** A path of the shop's own, as the browser wants it. @param {string} path @returns {any} */
export const script = (path) => (policy ? policy.createScriptURL(path) : own(path));
