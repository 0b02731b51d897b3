package server

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"bayhold/checklist"
)

type taken struct {
	Kept    int
	Refused []struct {
		Index int
		Why   string
	}
	Offset *int64 `json:"offset_s"`
}

func (s *shopAt) send(t testing.TB, path, key, body string) (int, taken, string) {
	t.Helper()
	req, err := http.NewRequest(http.MethodPost, s.http.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	if key != "" {
		req.Header.Set("Authorization", "Bearer "+key)
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	var got taken
	json.Unmarshal(b, &got)
	return resp.StatusCode, got, string(b)
}

// A file of keys: comments and blank lines pass, a short key, a second one for
// a bay, an empty file do not.
func TestLoggerKeysFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "keys")
	for text, why := range map[string]string{
		"# bays\n\nbay-4 0123456789abcdef\nBay_5  fedcba9876543210\n": "",
		"bay-4 short\n": "line 1",
		"bay-4 0123456789abcdef\nBay_4 fedcba9876543210\n": "a key already",
		"# nothing\n": "holds no key",
	} {
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := ReadLoggerKeys(file)
		if why == "" && err != nil || why != "" && (err == nil || !strings.Contains(err.Error(), why)) {
			t.Errorf("%q: %v, want %q", text, err, why)
		}
	}
}

// A bay's key opens that bay and no other; without one nothing is taken, and
// the reason is said.
func TestLoggerKeys(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	file := filepath.Join(t.TempDir(), "keys")
	if err := os.WriteFile(file, []byte("bay-4 0123456789abcdef\nbay-5 fedcba9876543210\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	keys, err := ReadLoggerKeys(file)
	if err != nil {
		t.Fatal(err)
	}
	s.cfg.LoggerKeys = keys
	body := fmt.Sprintf(`{"at":%q,"air_c":20,"rh_pct":50}`, time.Now().Add(-time.Minute).Format(time.RFC3339))
	for key, code := range map[string]int{"": 401, "0123456789abcdee": 401, "fedcba9876543210": 401, "0123456789abcdef": 200} {
		got, _, answer := s.send(t, "/climate/bay-4?instrument=mid", key, body)
		if got != code || code == 401 && !strings.Contains(answer, "key") {
			t.Errorf("key %q: %d %s", key, got, answer)
		}
	}
}

// JSON Lines: one reading or many; each bad one is refused with its reason by
// its line, and the rest is kept.
func TestJSONLines(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	at := func(min int) string { return time.Now().Add(time.Duration(min) * time.Minute).Format(time.RFC3339) }
	one := fmt.Sprintf(`{"at":%q,"air_c":20.5,"rh_pct":51}`, at(-50))
	if code, got, answer := s.send(t, "/climate/bay-4?instrument=mid", "", one); code != 200 || got.Kept != 1 {
		t.Fatalf("%d %s", code, answer)
	}
	lines := []string{
		fmt.Sprintf(`{"at":%q,"air_c":20.5,"rh_pct":51}`, at(-40)),
		fmt.Sprintf(`{"at":%q,"air_c":20.5,"rh_pct":140}`, at(-39)),
		"",
		fmt.Sprintf(`{"at":%q,"air_f":68,"rh_pct":50}`, at(-38)),
		fmt.Sprintf(`{"at":%q,"air_c":293.15,"rh_pct":50}`, at(-37)),
		fmt.Sprintf(`{"at":%q,"air_c":20,"rh_pct":50}`, at(24*60)),
		`{"at":`,
		fmt.Sprintf(`{"at":%q,"air_c":20.6,"rh_pct":51}`, at(-36)),
	}
	code, got, answer := s.send(t, "/climate/bay-4?instrument=mid", "", strings.Join(lines, "\n")+"\n")
	if code != 200 || got.Kept != 2 {
		t.Fatalf("%d %s", code, answer)
	}
	want := map[int]string{1: "140", 2: "air_f", 3: "kelvin", 4: "future", 5: "no sample"}
	for _, r := range got.Refused {
		if want[r.Index] == "" || !strings.Contains(r.Why, want[r.Index]) {
			t.Errorf("line %d: %s", r.Index, r.Why)
		}
		delete(want, r.Index)
	}
	if len(want) > 0 {
		t.Errorf("not refused: %v", want)
	}
}

// A logger's file with a clock that is five minutes slow, semicolons, decimal
// commas and a degree sign: times are moved, bad lines named by their number in
// the file, and what was kept is in the place's logbook.
func TestLoggerFile(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	slow := time.Now().UTC().Add(-5 * time.Minute)
	line := func(min int, rest string) string {
		return slow.Add(time.Duration(min)*time.Minute).Format("2006-01-02 15:04:05") + ";" + rest
	}
	file := "\xef\xbb\xbfTime;Temperature (°C);Humidity (%)\r\n" +
		line(-30, "20,5;51,0") + "\r\n" + line(-25, "20,5;140") + "\r\n" + line(-20, "warm;50") + "\r\n" + "yesterday;20;50\r\n" + line(-15, "20,6;50,5") + "\r\n"
	path := "/climate/bay-4/file?instrument=stick&clock=" + slow.Format("2006-01-02T15:04:05")
	code, got, answer := s.send(t, path, "", file)
	if code != 200 || got.Kept != 2 || got.Offset == nil || *got.Offset < 299 || *got.Offset > 400 {
		t.Fatalf("%d %s", code, answer)
	}
	want := map[int]string{3: "140", 4: `"warm"`, 5: `"yesterday"`}
	for _, r := range got.Refused {
		if want[r.Index] == "" || !strings.Contains(r.Why, want[r.Index]) {
			t.Errorf("line %d: %s", r.Index, r.Why)
		}
		delete(want, r.Index)
	}
	if len(want) > 0 {
		t.Errorf("not refused: %v", want)
	}
	if err := s.windows.close(context.Background(), s.clock()); err != nil {
		t.Fatal(err)
	}
	found := false
	for _, b := range s.bodies(t, placeLog(bay4)) {
		if c, ok := b.(checklist.ClimateBlock); ok && c.Instrument == "stick" && c.Air.Least == 20_500 {
			found = true
			if d := c.From - slow.Add(-25*time.Minute).UnixMilli(); d < -3000 || d > 200_000 {
				t.Errorf("moved by %d ms beside five minutes", d)
			}
		}
	}
	if !found {
		t.Error("no line of it")
	}
	for _, c := range [][2]string{
		{"a,b,c\n1,2,3\n", "no time or no air"}, {"time,temp\n1,2\n", "no humidity"}, {"", "names its columns"},
	} {
		if code, _, answer := s.send(t, "/climate/bay-4/file?instrument=stick", "", c[0]); code != 400 || !strings.Contains(answer, c[1]) {
			t.Errorf("%q: %d %s", c[0], code, answer)
		}
	}
	// Fahrenheit by name is no guess: 68 F are 20 C (212 F are 100, 32 are 0).
	code, got, answer = s.send(t, "/climate/bay-4/file?instrument=f", "", "at,air_f,rh_pct\n"+time.Now().Add(-time.Hour).Format(time.RFC3339)+",68,50\n")
	if code != 200 || got.Kept != 1 {
		t.Errorf("%d %s", code, answer)
	}
}

// Readings a second, each posted by itself and on disk before it is answered,
// from twenty loggers at once; the budget is 1,000 on two cores.
func BenchmarkReadings(b *testing.B) {
	s := startShop(b, b.TempDir())
	crewed(b, s)
	start := time.Now().Add(-20 * 24 * time.Hour)
	b.ResetTimer()
	var wg sync.WaitGroup
	next := make(chan int)
	for l := range 20 {
		wg.Go(func() {
			for i := range next {
				body := fmt.Sprintf(`{"at":%q,"air_c":20.5,"rh_pct":51}`, start.Add(time.Duration(i)*time.Second).Format(time.RFC3339))
				if code, _, answer := s.send(b, fmt.Sprintf("/climate/bay-4?instrument=l%d", l), "", body); code != 200 {
					b.Errorf("%d %s", code, answer)
				}
			}
		})
	}
	for i := range b.N {
		next <- i
	}
	close(next)
	wg.Wait()
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}
