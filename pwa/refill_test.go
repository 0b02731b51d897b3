package pwa_test

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/uuid"
	bolt "go.etcd.io/bbolt"

	"bayhold/server"
	"bayhold/server/browsertest"
)

// save copies the store of a shop that is stopped.
func (s *shop) save() []byte {
	s.t.Helper()
	b, err := os.ReadFile(filepath.Join(s.data, server.StoreFile))
	if err != nil {
		s.t.Fatal(err)
	}
	return b
}

// restore puts a copy back as a restore does: in the next epoch, in which the
// server has a new writer. The photos are lost.
func (s *shop) restore(saved []byte) {
	s.t.Helper()
	path := filepath.Join(s.data, server.StoreFile)
	if err := os.RemoveAll(filepath.Join(s.data, "photos")); err != nil {
		s.t.Fatal(err)
	}
	if err := os.WriteFile(path, saved, 0o600); err != nil {
		s.t.Fatal(err)
	}
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error {
		meta := tx.Bucket([]byte("meta")) // see the package comment of server
		epoch := binary.BigEndian.Uint64(meta.Get([]byte("epoch")))
		writer := uuid.Must(uuid.NewV7())
		if err := meta.Put([]byte("writer"), writer[:]); err != nil {
			return err
		}
		return meta.Put([]byte("epoch"), binary.BigEndian.AppendUint64(nil, epoch+1))
	})
	if err != nil {
		s.t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		s.t.Fatal(err)
	}
}

// The shop's disk dies, and a backup comes back that knows nothing of the last
// hours. One phone brings its own lines back and those of the other, which is
// gone for now; that one brings its photo when it returns.
func TestBrowserRefill(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	a, b := browsertest.New(t, "A", s.addr), browsertest.New(t, "B", s.addr)
	own(a)
	id := begin(t, a)
	note(t, a, "before the backup")
	waits(a, 0)
	a.ReadyOffline()
	own(b)
	lookAt(b, id)
	each(t, b, "before the backup")
	s.stop()
	saved := s.save()
	s.start()

	note(t, a, "from A")
	sha := picture(a, 200)
	there := `fetch('/photos/` + sha + `', {method: 'HEAD', cache: 'no-store'}).then(r => r.status === 200)`
	a.Until("the photo at the shop", there)
	each(t, b, "from A")
	note(t, b, "from B")
	each(t, a, "from B")
	waits(b, 0)
	a.Close()

	s.stop()
	s.restore(saved)
	s.start()
	c := browsertest.New(t, "C", s.addr)
	own(c)
	lookAt(c, id)
	for _, p := range []*browsertest.Phone{b, c} {
		each(t, p, "before the backup", "from A", "from B")
	}
	waits(b, 0)
	b.Until("no shelves any more", onStore+`('meta', 'readonly', (s) => s.getAllKeys()).then((keys) => !keys.some(k => k.startsWith('shelf ')))`)

	a.Start()
	own(a)
	lookAt(a, id)
	a.Until("the photo at the shop again", there)
	each(t, a, "before the backup", "from A", "from B")
	note(t, a, "later")
	each(t, b, "later")

	// A second backup has all that the copies have. Then A writes two lines
	// more, and goes between their receipts and its copy of the logbook.
	s.stop()
	saved = s.save()
	s.start()
	waits(a, 0)
	b.Wire.Cut()
	c.Wire.Cut()
	browsertest.JS[bool](a, onStore+`('meta', 'readonly', (s) => s.get('cursor j:' + job)).then((was) => { globalThis.was = was; return true; })`)
	note(t, a, "ahead of its copy")
	waits(a, 0)
	note(t, a, "and this")
	waits(a, 0)
	browsertest.JS[bool](a, onStore+`('meta', 'readwrite', (s) => s.put(was, 'cursor j:' + job)).then(() => true)`)
	a.Close()
	s.stop()
	s.restore(saved)
	s.start()
	b.Wire.Restore()
	c.Wire.Restore()
	note(t, b, "in their place")
	note(t, c, "here, too")
	for _, p := range []*browsertest.Phone{b, c} {
		each(t, p, "in their place", "here, too")
		waits(p, 0)
	}
	a.Start()
	own(a)
	lookAt(a, id)
	a.Until("the photo at the shop once more", there)
	for _, p := range []*browsertest.Phone{a, b} {
		each(t, p, "before the backup", "from A", "from B", "in their place", "here, too", "ahead of its copy", "and this")
	}
	waits(a, 0)
	if rows := browsertest.JS[string](a, onStore+`('batches', 'readonly', (s) => s.getAllKeys(IDBKeyRange.bound(['j:' + job], ['j:' + job, []])))
		.then(async (keys) => { const rows = await `+onStore+`('batches', 'readonly', (s) => s.getAll(IDBKeyRange.bound(['j:' + job], ['j:' + job, []])));
			return rows.map((row, i) => keys[i][1] + '-' + row.last).join(' '); })`); !oneAfterTheOther(rows) {
		t.Errorf("A's rows of the job are %s: some place is taken twice, or by none", rows)
	}

	// The vehicle goes and is forgotten: what notes said, the photo and the
	// painted views leave the phone that is there, and the one that was away.
	const lead = "01945f00-0000-7000-8000-00000000001e"
	write(a, `{class:'s'}`, "person.add", `{person:'`+lead+`', name:'Mara', initials:'M', role:'lead'}`).must(t)
	browsertest.JS[bool](a, `shop.ask('me', {person: '`+lead+`'}).then(() => true)`)
	browsertest.JS[answer](a, `shop.ask('write', {log: `+job+`, kind: 'job.close', body: {how: 'no-film'}, sure: true})`).must(t)
	waits(a, 0)
	b.Until("the end", `seen['job' + job]?.view?.lines.length === seen['job' + job].view.lines.filter(l => l.where === 'shop').length && !!seen['job' + job].view.closed`)
	b.Close()
	if told, err := server.Forget(s.data, server.Ask{Job: id}, "Mara"); err != nil || !strings.Contains(told, sha) {
		t.Fatal(told, err)
	}
	b.Start()
	own(b)
	for _, p := range []*browsertest.Phone{a, b} {
		for _, text := range []string{"before the backup", "from B", sha} {
			p.Until("no '"+text+"' in its store", `(`+holds+`)('`+text+`').then(is => !is)`)
		}
		lookAt(p, id)
		p.Until("what is left", `seen['job' + job]?.view?.lines.filter(l => l.text === 'erased').length === 8`)
	}
}

// onStore is a function in a page that asks one object store of the app's database.
const onStore = `((name, mode, ask) => new Promise((resolve, reject) => {
	const open = indexedDB.open('bayhold');
	open.onerror = () => reject(open.error);
	open.onsuccess = () => {
		const tx = open.result.transaction(name, mode), asked = ask(tx.objectStore(name));
		tx.oncomplete = () => { open.result.close(); resolve(asked.result); };
		tx.onabort = () => reject(tx.error);
	};
}))`

// oneAfterTheOther says whether rows "1-3 4-4" have every order from 1 on once.
func oneAfterTheOther(rows string) bool {
	next := 1
	for _, row := range strings.Fields(rows) {
		var first, last int
		if _, err := fmt.Sscanf(row, "%d-%d", &first, &last); err != nil || first != next || last < first {
			return false
		}
		next = last + 1
	}
	return next > 1
}

// holds says whether a text stands anywhere in a phone's store, as text or in
// bytes; of photos only the name counts, for lines name them still.
const holds = `async (text) => {
	const open = indexedDB.open('bayhold');
	const done = (r) => new Promise((resolve, reject) => { r.onsuccess = () => resolve(r.result); r.onerror = () => reject(r.error); });
	const db = await done(open);
	const has = (v) => typeof v === 'string' ? v.includes(text) : v instanceof Uint8Array ? new TextDecoder('latin1').decode(v).includes(text)
		: v && typeof v === 'object' && !(v instanceof ArrayBuffer) ? Object.values(v).some(has) : false;
	const photo = /^[0-9a-f]{64}$/.test(text);
	try {
		for (const name of photo ? ['photos'] : db.objectStoreNames) {
			const store = db.transaction(name).objectStore(name);
			if (has(photo ? await done(store.getAllKeys()) : await done(store.getAll()))) return true;
		}
		return false;
	} finally {
		db.close();
	}
}`
