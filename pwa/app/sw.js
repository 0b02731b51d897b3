// @ts-check
/// <reference lib="webworker" />
// The service worker: one bundle, installed whole or not at all.
//
// The server puts the bundle's hash and list in place of the object below, so
// this file changes when any file does. A new bundle waits until no page of the old one
// is open, or until a page says that all of them are quiet (edition.js): a page
// must not lose its core in the middle of a write.
// Photos, records, an owner's page, the socket and everything else that is not the
// app go past it.

/** @type {{hash: string, files: string[], later: string[]}} */
const BUNDLE = {hash:"dev",files:[],later:[]};

const sw = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const CACHE = 'bayhold-' + BUNDLE.hash;
const PAGE = '/app/index.html';

sw.addEventListener('install', (event) => {
  // Where the browser can, it takes page and app from here without starting this
  // worker first. It looks for the very address, so the page stands in the cache
  // under both of its own. What is not there goes to the server, as below.
  const straight = /** @type {any} */ (event).addRoutes?.([{ pathname: '/', search: '' }, { pathname: '/app/*' }]
    .map((to) => ({ condition: { urlPattern: new URLPattern({ ...to, baseURL: sw.location.origin }) }, source: { cacheName: CACHE } })))?.catch(() => {});
  event.waitUntil(Promise.all([fill(), straight]));
});

/** Fetches every file past the HTTP cache; one failure fails the install. What
 * came later to the bundle before this one is as needed as the rest by now: the
 * screen may speak by it. */
async function fill() {
  const files = [...BUNDLE.files];
  for (const url of BUNDLE.later) if (await caches.match(url)) files.push(url);
  const cache = await caches.open(CACHE);
  await cache.addAll(files.map((url) => new Request(url, { cache: 'no-cache' })));
  await cache.put('/', /** @type {Response} */ (await cache.match(PAGE)));
}

sw.addEventListener('message', (event) => {
  if (event.data === 'start') sw.skipWaiting();
  if (event.data === 'later') event.waitUntil(later());
});

sw.addEventListener('activate', (event) => {
  event.waitUntil(takeOver());
});

async function takeOver() {
  for (const name of await caches.keys()) {
    if (name.startsWith('bayhold-') && name !== CACHE) await caches.delete(name);
  }
  await sw.clients.claim();
  later(); // nothing waits for it
}

/** Fetches what no first visit waits for, and what did not come before. */
async function later() {
  const cache = await caches.open(CACHE);
  for (const url of BUNDLE.later) if (!(await cache.match(url))) await cache.add(url).catch(() => {});
}

sw.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== sw.location.origin) return;
  if (request.mode === 'navigate' && url.pathname === '/') {
    event.respondWith(fromBundle(PAGE, request));
  } else if (url.pathname.startsWith('/app/')) {
    event.respondWith(fromBundle(url.pathname, request));
  }
});

/**
 * The bundle first: page and core always belong together.
 * @param {string} path @param {Request} request
 */
async function fromBundle(path, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(path)) ?? fetch(request);
}
