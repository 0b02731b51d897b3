// A page with what the harness is there to test: a service worker, a strict
// database and a websocket that comes back.
const el = id => document.querySelector(`[data-testid=${id}]`);
const db = await new Promise((ok, no) => {
	const r = indexedDB.open('toy', 1);
	r.onupgradeneeded = () => r.result.createObjectStore('notes', {autoIncrement: true});
	r.onsuccess = () => ok(r.result);
	r.onerror = () => no(r.error);
});

function paint() {
	const r = db.transaction('notes').objectStore('notes').getAll();
	r.onsuccess = () => el('notes').replaceChildren(...r.result.map(text => {
		const li = document.createElement('li');
		li.textContent = text;
		return li;
	}));
}

el('keep').onclick = () => {
	const tx = db.transaction('notes', 'readwrite', {durability: 'strict'});
	tx.objectStore('notes').add(el('note').value);
	tx.oncomplete = paint;
};
el('photo').onchange = e => { el('size').textContent = `${e.target.files[0].size} bytes`; };

function connect() {
	const ws = new WebSocket(`ws://${location.host}/ws`);
	ws.onopen = () => { el('line').dataset.state = 'open'; };
	ws.onclose = () => {
		el('line').dataset.state = 'closed';
		setTimeout(connect, 50);
	};
}

navigator.serviceWorker.register('/sw.js');
paint();
connect();
console.log('toy is up');
