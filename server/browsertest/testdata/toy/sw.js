self.addEventListener('install', e => e.waitUntil(
	caches.open('toy').then(c => c.addAll(['/', '/toy.js'])).then(() => self.skipWaiting())));
self.addEventListener('activate', e => e.waitUntil(self.clients.claim()));
self.addEventListener('fetch', e => e.respondWith(
	caches.match(e.request).then(r => r || fetch(e.request))));
