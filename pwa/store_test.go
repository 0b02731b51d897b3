package pwa_test

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"bayhold/server/browsertest"
)

// own opens the page and takes its own door, as a person's taps do.
func own(p *browsertest.Phone) {
	p.Open("/")
	takeDoor(p)
}

func takeDoor(p *browsertest.Phone) {
	p.Until("the page's door", `import('/app/main.js').then(m => {
		if (!m.app.shop) return false;
		if (window.shop !== m.app.shop) {
			window.shop = m.app.shop; window.seen = {}; window.said = [];
			shop.on('view', v => { seen[v.name + v.id] = v; });
			shop.on('fault', f => { said.push(f.text); });
			if (m.app.fault) said.push(m.app.fault);
			shop.ask('view', {name: 'home'});
		}
		return true;
	})`)
}

func online(p *browsertest.Phone, is bool) {
	p.Until(fmt.Sprintf("online to be %v", is), fmt.Sprintf(`shop.ask('status').then(s => s.online === %v)`, is))
}

func waits(p *browsertest.Phone, n int) {
	p.Until(fmt.Sprintf("%d lines only on this phone", n), fmt.Sprintf(`shop.ask('status').then(s => s.waiting === %d)`, n))
}

func note(t *testing.T, p *browsertest.Phone, text string) {
	t.Helper()
	write(p, job, "note", `{text:'`+text+`'}`).must(t)
}

// says waits until the phone has told the person this.
func says(p *browsertest.Phone, words string) {
	p.Until("the phone to say '"+words+"'", `said.some(s => s.includes('`+words+`'))`)
}

// each wants these notes in the job, each once and at the shop.
func each(t *testing.T, p *browsertest.Phone, texts ...string) {
	t.Helper()
	for _, text := range texts {
		shows(p, text, "shop")
		if n := browsertest.JS[int](p, `seen['job' + job].view.lines.filter(l => l.text === '`+text+`').length`); n != 1 {
			t.Errorf("%q stands %d times in the job", text, n)
		}
	}
}

// faulty breaks the database of a worker when it is told to:
//
//	lost    the connection is lost before the next transaction
//	closing the next transaction finds the connection closing
//	midway  the next line's transaction is aborted by the browser
//	unsaid  the next line's transaction completes, but the word of it is lost
//	broken  every transaction fails, on every connection, until the database is deleted
//	shut    the database does not open either, until it is deleted
//	trap    the core breaks in its next write
const faulty = `(() => {
	let mode = '';
	if (!self.name.startsWith('bayhold')) return;
	let channel; // made late: in a worker that is held at its start it would hang the browser
	const listen = () => {
		channel = new BroadcastChannel('fault');
		channel.onmessage = e => { mode = e.data; channel.postMessage('heard'); };
	};
	const now = (...modes) => { if (!modes.includes(mode)) return false; if (!['broken', 'shut'].includes(mode)) mode = ''; return true; };
	const unknown = text => new DOMException(text, 'UnknownError');
	const wrap = (of, name, by) => { const real = of.prototype[name]; of.prototype[name] = function (...a) { return by.call(this, () => real.apply(this, a), ...a); }; };
	wrap(IDBDatabase, 'transaction', function (real, stores, kind) {
		if (now('broken', 'shut')) throw unknown('Internal error.');
		if (now('lost')) { this.close(); throw unknown('Connection to Indexed Database server lost. Refresh the page to try again'); }
		if (now('closing')) this.close();
		return real();
	});
	wrap(IDBTransaction, 'commit', function (real) {
		if ([...this.objectStoreNames].includes('outbox')) {
			if (now('midway')) { this.abort(); return; }
			if (now('unsaid')) { const said = this.onabort; this.oncomplete = () => said.call(this); }
		}
		real();
	});
	wrap(IDBFactory, 'open', function (real) {
		if (!channel) listen();
		if (mode !== 'shut') return real();
		const request = {error: unknown('Internal error opening backing store for indexedDB.open.')};
		setTimeout(() => request.onerror());
		return request;
	});
	wrap(IDBFactory, 'deleteDatabase', function (real) { mode = ''; return real(); });
	const make = WebAssembly.instantiate;
	WebAssembly.instantiate = async (...a) => {
		const instance = await make(...a);
		if (!instance.exports) return instance;
		const call = (op, n) => { if (op === 3 && now('trap')) throw new Error('trapped by the test'); return instance.exports.call(op, n); };
		return {exports: {...instance.exports, call}};
	};
})()`

func breaks(p *browsertest.Phone, how string) {
	browsertest.JS[bool](p, `new Promise(ok => {
		window.fault ??= new BroadcastChannel('fault');
		fault.onmessage = () => ok(true);
		fault.postMessage('`+how+`');
	})`)
}

// A connection that is lost, in whatever way, costs no line and doubles none;
// nor does a core that breaks.
func TestBrowserStoreConnectionLost(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	p.Before(faulty)
	own(p)
	begin(t, p)
	for _, cut := range []bool{false, true} {
		var texts []string
		if cut {
			p.Wire.Cut()
			online(p, false)
		}
		for _, how := range []string{"lost", "closing", "midway", "unsaid", "trap"} {
			breaks(p, how)
			text := fmt.Sprint(how, " ", cut)
			note(t, p, text)
			texts = append(texts, text)
		}
		if cut {
			waits(p, len(texts))
			p.Wire.Restore()
		}
		each(t, p, texts...)
		waits(p, 0)
	}
	if got := browsertest.JS[string](p, "said.join()"); got != "" {
		t.Errorf("the person was told %q", got)
	}
}

// A database that is broken for good is made anew while the app runs, or when
// it starts; the lines that were only in it come back from the journal.
func TestBrowserStoreBroken(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	p.Before(faulty)
	own(p)
	id := begin(t, p)
	for _, how := range []string{"broken", "shut"} {
		waits(p, 0)
		p.Wire.Cut()
		online(p, false)
		note(t, p, how+" one")
		note(t, p, how+" two")
		waits(p, 2)
		breaks(p, how)
		// What the shop has is gone from here until it is in reach.
		if a := write(p, job, "note", `{text:'too early'}`); a.Refused != "This phone does not carry this job." {
			t.Errorf("a line for a job that is gone: %+v", a)
		}
		says(p, "Saved: 2 lines")
		waits(p, 2)
		p.Wire.Restore()
		online(p, true)
		lookAt(p, id)
		each(t, p, how+" one", how+" two")
		note(t, p, how+" three")
		each(t, p, how+" three")
		waits(p, 0)
		browsertest.JS[bool](p, `(said.length = 0, true)`)
	}
}

// erase finds what a browser keeps of the shop's page under a name, in a
// profile that is off.
func erase(t *testing.T, profile, name string, how func(path string) error) {
	t.Helper()
	n := 0
	err := filepath.WalkDir(profile, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() || !strings.EqualFold(d.Name(), name) {
			return err
		}
		n++
		if err := how(path); err != nil {
			return err
		}
		return fs.SkipDir
	})
	if err != nil || n == 0 {
		t.Fatalf("%d folders %s found: %v", n, name, err)
	}
}

// spoil overwrites every file below a folder with bytes that are none of a
// database.
func spoil(dir string) error {
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		st, err := d.Info()
		if err != nil {
			return err
		}
		return os.WriteFile(path, []byte(strings.Repeat("no database ", int(st.Size())/12+1)), 0o600)
	})
}

// What is lost between two starts, with the browser's own files deleted or
// overwritten: the phone says what it saved and what it did not.
func TestBrowserStoreGone(t *testing.T) {
	t.Parallel()
	for _, v := range []struct {
		name     string
		gone     []string
		how      func(string) error
		lines    int
		says     string
		restored bool
	}{
		{"deleted", []string{"IndexedDB"}, os.RemoveAll, 2, "Saved: 2 lines", true},
		{"spoilt", []string{"IndexedDB"}, spoil, 2, "Saved: 2 lines", true},
		{"nothing here", []string{"IndexedDB"}, os.RemoveAll, 0, "No line is missing", true},
		{"evicted", []string{"IndexedDB", "File System"}, os.RemoveAll, 2, "Saved: 0 of 2 lines", false},
	} {
		t.Run(v.name, func(t *testing.T) {
			s := newShop(t)
			p := browsertest.New(t, "A", s.addr)
			own(p)
			id := begin(t, p)
			note(t, p, "kept")
			waits(p, 0)
			p.ReadyOffline()
			p.Wire.Cut()
			online(p, false)
			var texts []string
			for i := range v.lines {
				texts = append(texts, fmt.Sprint("only here ", i))
				note(t, p, texts[i])
			}
			waits(p, v.lines)
			p.Until("the page to remember it", fmt.Sprintf(`JSON.parse(localStorage.getItem('only-here')).lines === %d`, v.lines))
			p.Close()
			for _, name := range v.gone {
				erase(t, p.Profile(), name, v.how)
			}
			p.Start()
			own(p)
			says(p, v.says)
			if v.restored {
				waits(p, v.lines)
			} else {
				waits(p, 0)
			}
			p.Wire.Restore()
			online(p, true)
			lookAt(p, id)
			each(t, p, "kept")
			if v.restored {
				each(t, p, texts...)
			}
			note(t, p, "afterwards")
			each(t, p, "afterwards")

			own(p) // said once, not at every start
			online(p, true)
			if got := browsertest.JS[string](p, "said.join()"); got != "" {
				t.Errorf("said again: %s", got)
			}
		})
	}
}
