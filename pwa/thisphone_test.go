package pwa_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"bayhold/server"
	"bayhold/server/browsertest"
	"bayhold/sync/jsonl"
)

// exports is what the phone saves as a file.
func exports(p *browsertest.Phone, all bool) string {
	return browsertest.JS[string](p, fmt.Sprintf(`shop.ask('export', {all: %v}).then(file => file.text())`, all))
}

// What is only on this phone is counted and named by vehicle, and can be saved
// as a file in the form of 'bayhold export': the reader of that form takes the
// waiting lines, and all lines of the phone are letter for letter what the
// server itself exports.
func TestBrowserOnlyOnThisPhone(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	own(p)
	id := begin(t, p)
	note(t, p, "kept — with ‘marks’ & <signs>")
	each(t, p, "kept — with ‘marks’ & <signs>")
	p.ReadyOffline()
	p.Until("the Spanish catalogue to be kept", `caches.match('/app/spanish.txt')`)
	p.Wire.Cut()
	online(p, false)
	note(t, p, "waits one")
	write(p, job, "reading", `{values:[{spot:'1', surface:-3500}], instrument:'contact', typed:'-3.5 C'}`).must(t)
	write(p, `{class:'p', id:'`+bay+`'}`, "climate.reading", `{air:12000, rh:60000}`).must(t)
	if sha := picture(p, 300); len(sha) != 64 {
		t.Fatalf("no photo: %s", sha)
	}
	p.Open("/#/phone")
	takeDoor(p)
	p.Reads("only-here", "4 lines and 1 photo only on this phone")
	p.Reads("held:V5", "3 lines and 1 photo")
	p.Reads("held:V5", "waits one")
	p.Reads("held:bay 4", "1 line")
	p.Reads("held:V5", "−3.5\u00a0°C")

	// Without signal too the phone takes another tongue and other units, and keeps
	// them: -3.5 C is -3.5 x 9/5 + 32 = 25.7 F. What was typed stays.
	p.Tap("own-tongue-es")
	p.Reads("only-here", "4 líneas y 1 foto solo en este teléfono")
	p.Tap("own-degrees-F")
	p.Reads("held:V5", "25.7\u00a0°F")
	p.Open("/#/phone")
	p.Reads("only-here", "4 líneas y 1 foto solo en este teléfono")
	p.Reads("held:V5", "3 líneas y 1 foto")
	p.Reads("held:V5", "waits one")
	p.Reads("held:V5", "25.7\u00a0°F")
	p.Tap("own-tongue-en")
	p.Reads("only-here", "4 lines and 1 photo only on this phone")
	takeDoor(p)

	dir := t.TempDir()
	p.Downloads(dir)
	p.Tap("export")
	if got, want := downloaded(t, dir, "bayhold-phone.jsonl"), exports(p, false); got != want {
		t.Errorf("the saved file holds\n%s\nwant\n%s", got, want)
	}
	lines, err := jsonl.Read(strings.NewReader(exports(p, false)))
	if err != nil || len(lines) != 4 {
		t.Fatalf("the saved file has %d lines, want 4: %v", len(lines), err)
	}
	for _, l := range lines {
		if l.Receipt != nil || l.Hand {
			t.Errorf("line %d was not taken as one that only its phone has", l.Number)
		}
	}

	p.Wire.Restore()
	p.Reads("only-here", "Everything from this phone is at the shop")
	p.SeesNot("held:V5")
	lookAt(p, id)
	shows(p, "waits one", "shop")
	saved := exports(p, true)
	s.stop()
	store, err := server.ReadStore(filepath.Join(s.data, server.StoreFile))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	var out bytes.Buffer
	n, err := store.Export(&out)
	if err != nil {
		t.Fatal(err)
	}
	want, got := sorted(out.String()), sorted(saved)
	if n < 9 || !slices.Equal(want, got) {
		t.Errorf("the phone saved\n%s\nthe server exports\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// downloaded waits for a file that a page saves: the browser gives it its name
// when it is whole.
func downloaded(t *testing.T, dir, name string) string {
	t.Helper()
	for began := time.Now(); time.Since(began) < 2*browsertest.Patience; time.Sleep(20 * time.Millisecond) {
		if b, err := os.ReadFile(filepath.Join(dir, name)); err == nil && len(b) > 0 {
			return string(b)
		}
	}
	t.Fatalf("%s was never saved", name)
	return ""
}

func sorted(text string) []string {
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	slices.Sort(lines)
	return lines
}

// All else fails: the phone's lines go to the shop as a file. When the phone
// comes back with the same lines, each stands there once. What left the shop as
// a record the phone checks by itself.
func TestBrowserLinesGoAsAFile(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	own(p)
	id := begin(t, p)
	waits(p, 0)
	p.Wire.Cut()
	online(p, false)
	lookAt(p, id)
	note(t, p, "carried by hand")
	note(t, p, "this one too")
	lines, err := jsonl.Read(strings.NewReader(exports(p, false)))
	if err != nil {
		t.Fatal(err)
	}
	var entries [][]byte
	for _, l := range lines {
		entries = append(entries, l.Bytes)
	}
	s.stop()
	srv, err := server.Open(server.Config{Data: s.data, Addr: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	got, err := srv.Import(context.Background(), entries)
	if err := errors.Join(err, srv.Close()); err != nil || got.Kept != 2 {
		t.Fatalf("%+v, want 2 lines kept: %v", got, err)
	}
	s.start()
	p.Wire.Restore()
	each(t, p, "carried by hand", "this one too")
	waits(p, 0)

	// The vehicle leaves, and its record is checked on the phone without signal.
	write(p, job, "job.close", `{how:'no-film'}`).must(t)
	waits(p, 0)
	resp, err := http.Get("http://" + s.addr + "/record/" + id)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	record, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != 200 {
		t.Fatalf("the record: %s, %v: %.100s", resp.Status, err, record)
	}
	p.ReadyOffline()
	p.Open("/")
	p.Until("the page that checks records", `caches.match('/app/views/checkrecord.js')`)
	p.Wire.Cut()
	p.Open("/#/check")
	for _, v := range []struct{ in, byte, says string }{
		{"", "", "All fits."},
		{"", "", "Sealed by the key"},
		{`carried by hand"`, "C", "lines.jsonl, line "},
		{"The vehicle record of", "x", "README.txt was changed"},
		{"\x6ebayhold record", "x", "Nothing else was checked"},
	} {
		changed := bytes.Clone(record)
		if v.in != "" {
			copy(changed[bytes.Index(record, []byte(v.in)):], v.byte)
		}
		file := filepath.Join(t.TempDir(), "record.zip")
		if err := os.WriteFile(file, changed, 0o600); err != nil {
			t.Fatal(err)
		}
		p.Upload("record-file", file)
		p.Reads("checked", v.says)
	}
}

// In a private window the app works all the same, without signal too, and says
// that what it holds may go.
func TestBrowserPrivateWindow(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	own(p)
	id := begin(t, p)
	waits(p, 0)
	w := p.Private()
	own(w)
	lookAt(w, id)
	shows(w, "Job begun: V5", "shop")
	w.ReadyOffline()
	w.Wire.Cut()
	online(w, false)
	note(t, w, "in private")
	w.Open("/#/phone")
	takeDoor(w)
	w.Reads("held:V5", "1 line")
	w.Reads("persisted", "may clear the app")
	w.Wire.Restore()
	lookAt(w, id)
	each(t, w, "in private")
	each(t, p, "in private")
}

// The browser is asked to keep the store with the first line; the page says
// what it answered, and the way out if that was no.
func TestBrowserAskedToKeep(t *testing.T) {
	t.Parallel()
	for _, v := range []struct{ setting, says string }{
		{"denied", "may clear the app to make room"},
		{"granted", "keeps the lines until you delete the app"},
	} {
		t.Run(v.setting, func(t *testing.T) {
			s := newShop(t)
			p := browsertest.New(t, "A", s.addr)
			p.Permit("persistent-storage", v.setting)
			own(p)
			begin(t, p)
			p.Open("/#/phone")
			p.Reads("persisted", v.says)
			if v.setting == "granted" {
				p.SeesNot("persist")
				return
			}
			p.Tap("persist")
			p.Reads("refusal", "The phone said no. Put the app on the home screen")
			p.Permit("persistent-storage", "granted")
			// Asked again, it keeps them; or the page saw so before, and asks no more.
			p.Until("the lines to be kept", `(document.querySelector('[data-testid=persist]')?.click(), document.querySelector('[data-testid=persisted]')?.innerText.includes('keeps the lines until you delete the app'))`)
		})
	}
}
