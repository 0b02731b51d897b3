package pwa_test

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"bayhold/server/browsertest"
)

// A vehicle was handed over a month ago. The phone asks the shop what it can
// spare and lets the job go with its photo, and the bay's air of then; the job
// that is open stays, and the phone goes on with both logbooks. When a backup of
// the shop comes back it can prove its shorter copy, and brings what it has of it.
func TestBrowserSpares(t *testing.T) {
	t.Parallel()
	const month = 31 * 24 * time.Hour
	var later atomic.Int64
	s := newShopAt(t, func() time.Time { return time.Now().Add(time.Duration(later.Load())) })
	air := func(ago time.Duration) { // a block of ten minutes that is over
		t.Helper()
		body := fmt.Sprintf(`{"instrument":"hall logger","samples":[{"at":%q,"air_c":20,"rh_pct":50}]}`, s.now().Add(-ago).Format(time.RFC3339))
		r, err := http.Post("http://"+s.addr+"/climate/"+bay, "application/json", strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		if said, _ := io.ReadAll(r.Body); r.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", r.Status, said)
		}
	}
	rows := func(p *browsertest.Phone, log, want string) {
		t.Helper()
		p.Until("rows "+want, onStore+`('batches', 'readonly', (s) => s.getAllKeys(IDBKeyRange.bound(['`+log+`'], ['`+log+`', []])))
			.then((keys) => keys.map((key) => key[1]).join(' ') === '`+want+`')`)
	}

	a := browsertest.New(t, "A", s.addr)
	own(a)
	old := begin(t, a)
	note(t, a, "of then")
	sha := picture(a, 200)
	a.Until("the photo at the shop", `fetch('/photos/`+sha+`', {method: 'HEAD', cache: 'no-store'}).then(r => r.status === 200)`)
	waits(a, 0)
	air(time.Hour)
	rows(a, "p:"+bay, "1")
	const lead = "01945f00-0000-7000-8000-00000000001e"
	write(a, `{class:'s'}`, "person.add", `{person:'`+lead+`', name:'Mara', initials:'M', role:'lead'}`).must(t)
	browsertest.JS[bool](a, `shop.ask('me', {person: '`+lead+`'}).then(() => true)`)
	browsertest.JS[answer](a, `shop.ask('write', {log: `+job+`, kind: 'job.close', body: {how: 'no-film'}, sure: true})`).must(t)
	waits(a, 0)
	a.Skew(month) // from its next start on
	a.Close()

	s.stop()
	later.Store(int64(month))
	s.start()
	a.Start()
	own(a)
	a.Until("the shop", `shop.ask('status').then(s => s.online)`)
	open := browsertest.JS[string](a, `shop.ask('newJob', {label:'V6', route:'panels', place:'`+bay+`',
		panels:[{id:'rear', name:'Rear doors', zone:'upper'}], spots:[{id:'1', name:'rear left sill', zone:'lower'}]}).then(a => a.id ?? a.refused)`)
	lookAt(a, open)
	note(t, a, "of now")
	each(t, a, "of now")
	air(time.Hour)
	rows(a, "p:"+bay, "1 2")
	a.Until("the shop to be asked", onStore+`('meta', 'readonly', (s) => s.get('spare')).then((said) => said?.over?.length === 1)`)
	a.Close()

	a.Start()
	own(a)
	rows(a, "j:"+old, "")
	rows(a, "p:"+bay, "2")
	a.Until("no photo", onStore+`('photos', 'readonly', (s) => s.count()).then((n) => n === 0)`)
	for _, text := range []string{"of then", sha} {
		a.Until("no '"+text+"' in its store", `(`+holds+`)('`+text+`').then(is => !is)`)
	}
	lookAt(a, open)
	note(t, a, "goes on")
	each(t, a, "of now", "goes on")

	s.stop()
	saved := s.save()
	s.start()
	a.Until("the shop again", `shop.ask('status').then(s => s.online)`)
	air(30 * time.Minute)
	rows(a, "p:"+bay, "2 3")
	s.stop()
	s.restore(saved)
	s.start()
	c := browsertest.New(t, "C", s.addr)
	own(c)
	lookAt(c, open)
	each(t, c, "of now", "goes on")
	c.Until("the air that A alone had", `shop.ask('status').then(async () => (await `+onStore+`('batches', 'readonly', (s) => s.getAll(IDBKeyRange.bound(['p:`+bay+`'], ['p:`+bay+`', []])))).at(-1)?.last === 3)`)
	waits(a, 0)
}
