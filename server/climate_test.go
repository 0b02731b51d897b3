package server

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// bodies are the bodies of a logbook, in order.
func (s *shopAt) bodies(t testing.TB, log logbook.Log) (out []checklist.Body) {
	t.Helper()
	lines, err := s.store.After(log, 0, 1<<30, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		e, err := logbook.Decode(l.Entry)
		if err != nil {
			t.Fatal(err)
		}
		body, err := line.Decode(e.Kind, e.Body)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, body)
	}
	return out
}

func (s *shopAt) post(t testing.TB, place, body string) (int, string) {
	t.Helper()
	resp, err := http.Post(s.http.URL+"/climate/"+place, "application/json", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	return resp.StatusCode, string(b)
}

// A bad row is said by its number and the rest is kept; the same post again
// changes nothing.
func TestClimateWithBadRows(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	at := func(min int) string { return time.Now().Add(time.Duration(min) * time.Minute).Format(time.RFC3339) }
	body := fmt.Sprintf(`{"instrument":"bay-4-mid","samples":[
		{"at":%q,"air_c":20.0,"rh_pct":75},
		{"at":%q,"air_c":20.0,"rh_pct":140},
		{"at":%q,"air_c":68.0,"rh_pct":50},
		{"at":%q,"air_c":20.0,"rh_pct":50},
		{"at":%q,"air_c":20.1,"rh_pct":74,"surfaces":[{"job":"v5","spot":"1","c":7.6}]},
		{"at":%q,"surfaces":[{"job":"V5","spot":"9","c":7.6}]},
		{"at":%q,"surfaces":[{"job":"V77","spot":"1","c":7.6}]}]}`,
		at(-40), at(-40), at(-40), at(24*60), at(-39), at(-38), at(-37))
	for range 2 {
		code, answer := s.post(t, "bay-4", body)
		var got struct {
			Kept    int
			Refused []struct {
				Index int
				Why   string
			}
		}
		if err := json.Unmarshal([]byte(answer), &got); err != nil || code != 200 || got.Kept != 2 {
			t.Fatalf("%d %s %v", code, answer, err)
		}
		want := map[int]string{1: "140", 2: "Fahrenheit", 3: "future", 5: `no spot "9"`, 6: `no open job "V77"`}
		if len(got.Refused) != len(want) {
			t.Errorf("refused: %s", answer)
		}
		for _, r := range got.Refused {
			if !strings.Contains(r.Why, want[r.Index]) || want[r.Index] == "" {
				t.Errorf("row %d: %s", r.Index, r.Why)
			}
		}
	}
	if err := s.windows.close(context.Background(), s.clock()); err != nil {
		t.Fatal(err)
	}
	blocks := s.bodies(t, placeLog(bay4))
	n := int64(0)
	for _, b := range blocks {
		n += b.(checklist.ClimateBlock).N
	}
	if n != 2 {
		t.Errorf("%d samples in %d blocks, want 2", n, len(blocks))
	}
	job := s.bodies(t, jobV5)
	if len(job) != 2 {
		t.Fatalf("%d lines in the job, want its first and one reading", len(job))
	}
	r := job[1].(checklist.Reading)
	if r.Instrument != "logger" || len(r.Values) != 1 || r.Values[0] != (checklist.SpotValue{Spot: "1", Surface: 7600}) || r.At == 0 {
		t.Errorf("reading %+v", r)
	}
}

func TestClimatePostThatIsRefused(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	for _, c := range []struct {
		place, body string
		code        int
		says        string
	}{
		{"bay-9", `{"instrument":"x","samples":[{}]}`, 404, `no place "bay-9"; the shop has Bay 4`},
		{"bay-4", `{"samples":[{}]}`, 400, "instrument needs a name"},
		{"bay-4", `{"instrument":"x"}`, 400, "no samples"},
		{"bay-4", `{"instrument":"x","samples":`, 400, "no post"},
		{"bay-4", `{"instrument":"x","samples":[{"air_c":1}]}`, 422, "RFC 3339"},
		{"Bay%204", `{"instrument":"x","samples":[{"air_c":1}]}`, 422, "RFC 3339"},
		{bay4.String(), `{"instrument":"x","samples":[{"air_c":1}]}`, 422, "RFC 3339"},
		{"bay-4", `{"instrument":"x","samples":[` + strings.Repeat("{},", maxSamples) + `{}]}`, 413, "at most"},
	} {
		code, answer := s.post(t, c.place, c.body)
		if code != c.code || !strings.Contains(answer, c.says) {
			t.Errorf("%s %.60s: %d %s, want %d %s", c.place, c.body, code, answer, c.code, c.says)
		}
	}
	// A page of another site cannot make a visitor's browser post.
	req, _ := http.NewRequest("POST", s.http.URL+"/climate/bay-4", strings.NewReader(`{}`))
	req.Header.Set("Origin", "http://evil.example")
	if resp, err := http.DefaultClient.Do(req); err != nil || resp.StatusCode != http.StatusForbidden {
		t.Errorf("another site's post: %v %v", resp, err)
	}
}

// A sample is on disk when it is answered: it becomes a line even if the
// server is gone before the ten minutes are over.
func TestSampleOutlivesTheServer(t *testing.T) {
	dir := t.TempDir()
	s := startShop(t, dir)
	crewed(t, s)
	code, answer := s.post(t, "bay-4", fmt.Sprintf(`{"instrument":"x","samples":[{"at":%q,"air_c":20,"rh_pct":75}]}`, time.Now().Format(time.RFC3339)))
	if code != 200 {
		t.Fatal(answer)
	}
	if err := s.windows.close(context.Background(), s.clock()); err != nil {
		t.Fatal(err)
	}
	if got := s.bodies(t, placeLog(bay4)); len(got) != 0 {
		t.Fatalf("a window was closed before its end: %v", got)
	}
	s.stop(t)
	again := startShop(t, dir)
	later := again.clock() + windowSpan + windowGrace + 1000
	if err := again.windows.close(context.Background(), later); err != nil {
		t.Fatal(err)
	}
	if got := again.bodies(t, placeLog(bay4)); len(got) != 1 {
		t.Errorf("%d blocks after the restart, want 1", len(got))
	}
	if err := again.windows.close(context.Background(), later); err != nil {
		t.Fatal(err)
	}
	if got := again.bodies(t, placeLog(bay4)); len(got) != 1 {
		t.Errorf("%d blocks after closing twice", len(got))
	}
}

// A block holds the worst moment's dew point. By the saturation pressures of
// the steam tables (kPa: 7 C 1.002, 8 C 1.073, 12 C 1.403, 15 C 1.706, 16 C
// 1.819, 20 C 2.339) air of 20 C at 75 % has 1.754 and its dew point at 15.4 C,
// air of 12 C at 73 % has 1.024 and 7.3 C. The warmest air with the dampest, 20
// C at 80 %, would have 16.4 C, and never was.
func TestBlockSumsUpMoments(t *testing.T) {
	b := blockOf("x", []point{{3000, 12_000, 80_000}, {1000, 20_000, 75_000}, {2000, 12_000, 73_000}})
	if b.From != 1000 || b.To != 3000 || b.N != 3 {
		t.Errorf("from %d to %d, %d samples", b.From, b.To, b.N)
	}
	if b.Air != (checklist.Range{Least: 12_000, Most: 20_000, Last: 12_000}) || b.RH != (checklist.Range{Least: 73_000, Most: 80_000, Last: 80_000}) {
		t.Errorf("air %v, rh %v", b.Air, b.RH)
	}
	near := func(got int32, want float64) bool {
		return float64(got) > want*1000-100 && float64(got) < want*1000+100
	}
	if !near(b.Dew.Most, 15.4) || !near(b.Dew.Least, 7.3) {
		t.Errorf("dew point %v, want 7.3 to 15.4 C", b.Dew)
	}
	one := blockOf("x", []point{{5000, 12_000, 80_000}})
	if one.From >= one.To || one.To != 5000 {
		t.Errorf("one sample spans %d to %d", one.From, one.To)
	}
}

// The minute on the dot belongs to the ten minutes before it.
func TestWindowStart(t *testing.T) {
	at := func(clock string) int64 {
		v, err := time.Parse("15:04:05.000", clock)
		if err != nil {
			t.Fatal(err)
		}
		return time.Date(2026, 1, 14, 0, 0, 0, 0, time.UTC).Add(v.Sub(time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC))).UnixMilli()
	}
	for sample, start := range map[string]string{
		"08:10:00.000": "08:00:00.000",
		"08:10:00.001": "08:10:00.000",
		"08:00:00.001": "08:00:00.000",
		"08:09:59.999": "08:00:00.000",
	} {
		if got := windowStart(at(sample)); got != at(start) {
			t.Errorf("%s lies in the window from %s, want %s", sample, time.UnixMilli(got).UTC().Format("15:04:05"), start)
		}
	}
}

// A phone sees a sample at once, before its block is written.
func TestLiveSample(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	p := newPhone(t, "a")
	p.connect(s)
	p.untilCaught()
	s.post(t, "bay-4", fmt.Sprintf(`{"instrument":"x","samples":[{"at":%q,"air_c":20,"rh_pct":75}]}`, time.Now().Format(time.RFC3339)))
	p.until("the live sample", func() bool { return len(p.live) > 0 })
	body, err := line.Decode("climate.block", p.live[0].Body)
	if err != nil || p.live[0].Log != placeLog(bay4) {
		t.Fatal(err)
	}
	if b := body.(checklist.ClimateBlock); b.Air.Last != 20_000 || b.Instrument != "x" {
		t.Errorf("live %+v", b)
	}
}
