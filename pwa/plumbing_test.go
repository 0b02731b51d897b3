package pwa_test

import (
	"context"
	"os"
	"testing"
	"time"

	"bayhold/server"
	"bayhold/server/browsertest"
)

// shop is a server on a port of its own that can be stopped and started again
// over the same data.
type shop struct {
	t    testing.TB
	data string
	addr string
	stop func()
	now  func() time.Time // nil: the true time
}

func newShop(t testing.TB) *shop {
	t.Helper()
	return newShopAt(t, nil)
}

// newShopAt is newShop by a clock of the test's own.
func newShopAt(t testing.TB, now func() time.Time) *shop {
	t.Helper()
	if _, err := os.Stat("app/core.wasm"); err != nil {
		t.Fatal("pwa/app/core.wasm is not built: run make core")
	}
	s := &shop{t: t, data: t.TempDir(), addr: browsertest.FreeAddr(t), now: now}
	s.start()
	t.Cleanup(func() { s.stop() })
	return s
}

func (s *shop) start() {
	s.t.Helper()
	srv, err := server.Open(server.Config{Data: s.data, Addr: s.addr, Now: s.now})
	if err == nil {
		err = srv.Listen()
	}
	if err != nil {
		s.t.Fatal(err)
	}
	s.addr = srv.Addr()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- srv.Run(ctx) }()
	s.stop = func() {
		cancel()
		if err := <-ended; err != nil {
			s.t.Error("the server ended with", err)
		}
		s.stop = func() {}
	}
}

// door opens the page and a second door to a second worker, as another tab
// would: what it writes goes through its own core and the shared store.
func door(p *browsertest.Phone) {
	p.Open("/")
	browsertest.JS[bool](p, `import('/app/main.js').then(m => {
		window.shop = m.connect(); window.seen = {}; window.fault = '';
		shop.on('view', v => { seen[v.name + v.id] = v; });
		shop.on('fault', f => { fault = f.text; });
		shop.ask('view', {name: 'home'}).catch(e => { fault = String(e); });
		return true;
	})`)
}

// write writes a line through the second door and answers the worker's answer.
func write(p *browsertest.Phone, log, kind, body string) answer {
	return browsertest.JS[answer](p, `shop.ask('write', {log: `+log+`, kind: '`+kind+`', body: `+body+`})`)
}

type answer struct {
	OK      bool
	Refused string
	Ask     bool
	ID      any
}

func (a answer) must(t *testing.T) {
	t.Helper()
	if !a.OK {
		t.Fatalf("not written: %q", a.Refused)
	}
}

const (
	bay = "01945f00-0000-7000-8000-000000000004"
	job = `{class: 'j', id: window.job}`
)

// begin sets up a shop with one bay and one job, and shows the job.
func begin(t *testing.T, p *browsertest.Phone) (id string) {
	t.Helper()
	p.Until("the shop", `shop.ask('status').then(s => s.online)`)
	write(p, `{class:'s'}`, "shop.set", `{name:'Hall', units:'C', zone:'Europe/Berlin'}`).must(t)
	write(p, `{class:'s'}`, "place.add", `{place:'`+bay+`', name:'bay 4', sort:'bay', order:4}`).must(t)
	id = browsertest.JS[string](p, `shop.ask('newJob', {label:'V5', route:'panels', place:'`+bay+`',
		panels:[{id:'rear', name:'Rear doors', zone:'upper'}], spots:[{id:'1', name:'rear left sill', zone:'lower'}]})
		.then(a => a.id ?? a.refused)`)
	if len(id) != 36 {
		t.Fatal(id)
	}
	lookAt(p, id)
	return id
}

func lookAt(p *browsertest.Phone, id string) {
	browsertest.JS[bool](p, `shop.ask('view', {name: 'job', id: window.job = '`+id+`'}).then(() => true)`)
}

// shows waits until the job's view has a line with this text, here or at the shop.
func shows(p *browsertest.Phone, text, where string) {
	p.Until("'"+text+"' "+where, `seen['job' + job]?.view?.lines.some(l => l.text === '`+text+`' && l.where === '`+where+`')`)
}

// A tap's way without signal: written, painted, there after a reload and after
// SIGKILL, at the shop once when the server is back, and on a second phone.
func TestBrowserTapWithoutSignal(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	a := browsertest.New(t, "A", s.addr)
	door(a)
	id := begin(t, a)
	shows(a, "Job begun: V5", "shop")
	a.ReadyOffline()

	s.stop()
	a.Until("no signal to be noticed", `shop.ask('status').then(s => !s.online)`)
	write(a, job, "tick", `{stage:'wash', answer:'done'}`).must(t)
	shows(a, "Wash done", "here")
	if net := browsertest.JS[string](a, `JSON.stringify(seen['job' + job].view.net.waiting)`); net != "1" {
		t.Errorf("%s lines wait, want 1", net)
	}

	door(a) // the page again, still without a server
	lookAt(a, id)
	shows(a, "Wash done", "here")
	write(a, job, "reading", `{values:[{spot:'1', surface:17500}], instrument:'contact', typed:'17.5 C'}`).must(t)
	a.Kill()
	a.Start()
	door(a)
	lookAt(a, id)
	shows(a, "rear left sill ⟨c:17500⟩", "here")
	shows(a, "Wash done", "here")
	write(a, job, "tick", `{stage:'inspection', answer:'done'}`).must(t)

	s.start()
	shows(a, "Wash done", "shop")
	shows(a, "Look over clean paint done", "shop")
	a.Until("nothing left on the phone", `shop.ask('status').then(s => s.waiting === 0)`)

	b := browsertest.New(t, "B", s.addr)
	door(b)
	lookAt(b, id)
	shows(b, "rear left sill ⟨c:17500⟩", "shop")
	write(b, job, "note", `{text:'seen by B'}`).must(t)
	shows(a, "seen by B", "shop")
	if n := browsertest.JS[int](a, `seen['job' + job].view.lines.length`); n != 5 {
		t.Errorf("the job has %d lines, want 5, each once", n)
	}
}

// What cannot be is refused with a sentence, and nothing is written.
func TestBrowserRefusals(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	door(p)
	begin(t, p)
	for _, v := range []struct{ log, kind, body, want string }{
		{job, "reading", `{values:[{spot:'1', surface:400000}]}`, "Surface ⟨c:400000⟩ cannot be. It goes from ⟨c:-40000⟩ to ⟨c:120000⟩."},
		{job, "reading", `{values:[{surface:12000}]}`, "Say at which spot this was read."},
		{job, "reading", `{values:[{spot:'1', surface:12000}], at: Date.now() + 9e6}`, "That time is still to come. Check date and time."},
		{`{class:'p', id:'` + bay + `'}`, "climate.reading", `{air:20000, rh:130000}`, "Humidity 130 % cannot be. It goes from 1 % to 100 %."},
		{`{class:'p', id:'` + bay + `'}`, "climate.reading", `{air:68000, rh:50000}`, "68 °C? 68 °F would be 20 °C. Check the unit."},
		{`{class:'s'}`, "person.add", `{person:'` + bay + `', name:'  ', initials:'X', role:'lead'}`, "The person needs a name."},
	} {
		if a := write(p, v.log, v.kind, v.body); a.OK || a.Refused != v.want {
			t.Errorf("%s %s: %+v, want %q", v.kind, v.body, a, v.want)
		}
	}
	tap := `Promise.all([1, 2].map(() => shop.ask('write', {log: ` + job + `, kind: 'tick', body: {stage: 'wash', answer: 'done'}}))).then(a => a.map(x => x.refused ?? 'written').join('; '))`
	if got := browsertest.JS[string](p, tap); got != "written; Written already, a moment ago." {
		t.Errorf("two taps: %s", got)
	}
	if n := browsertest.JS[int](p, `new Promise(r => setTimeout(r)).then(() => seen['job' + job].view.lines.length)`); n != 2 {
		t.Errorf("%d lines, want the job's beginning and one tick", n)
	}
}
