package server

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"

	"bayhold/checklist"
)

// scrape reads the metrics as Prometheus does, by its own parser.
func scrape(t *testing.T, h http.Handler) (map[string]*dto.MetricFamily, string) {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", "/metrics", nil))
	text := w.Body.String()
	if w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/plain; version=0.0.4") {
		t.Fatalf("%d %s", w.Code, w.Header())
	}
	p := expfmt.NewTextParser(model.LegacyValidation)
	families, err := p.TextToMetricFamilies(strings.NewReader(text))
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	return families, text
}

func TestMetrics(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	value := func(name string) float64 {
		t.Helper()
		f, _ := scrape(t, s.Metrics())
		if f[name] == nil || len(f[name].Metric) != 1 {
			t.Fatalf("%s is not told", name)
		}
		return f[name].Metric[0].GetGauge().GetValue()
	}
	rounds := func() uint64 {
		f, _ := scrape(t, s.Metrics())
		return f["bayhold_commit_seconds"].Metric[0].GetHistogram().GetSampleCount()
	}
	was, before := value("bayhold_lines_kept"), rounds()
	p := newPhone(t, "a")
	p.connect(s)
	p.untilCaught()
	// The shop hears in its own time that the phone which set it up hung up.
	for deadline := time.Now().Add(time.Minute); value("bayhold_phones_connected") != 1; time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%v phones, one is connected", value("bayhold_phones_connected"))
		}
	}
	p.write(jobV5, crew, checklist.JobOpen{Label: "V5", Plate: "TA MK 110", Route: "panels"})
	p.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	p.untilKept()
	if got := value("bayhold_lines_kept"); got != was+2 {
		t.Errorf("%v lines, want %v and two more", got, was)
	}
	if rounds() == before {
		t.Error("lines came to the disk, and no time of it is told")
	}
	if f, _ := scrape(t, s.Metrics()); f["bayhold_commit_seconds"].Metric[0].GetHistogram().GetSampleSum() <= 0 {
		t.Error("a disk that takes no time")
	}

	if got := value("bayhold_photos"); got != 0 {
		t.Errorf("%v photos before the first", got)
	}
	if code := photoCode(t, s.http.URL, picture(64, 48)); code != http.StatusCreated {
		t.Fatalf("the photo is answered %d", code)
	}
	if got := value("bayhold_photos"); got != 1 {
		t.Errorf("%v photos, want 1", got)
	}
	if st, err := os.Stat(filepath.Join(s.dir, StoreFile)); err != nil || value("bayhold_store_bytes") != float64(st.Size()) {
		t.Errorf("the store has %d bytes (%v), told %v", st.Size(), err, value("bayhold_store_bytes"))
	}
	if value("bayhold_disk_free_bytes") <= 0 {
		t.Error("no room on the disk")
	}
	if value("bayhold_lines_aside") != 0 || value("bayhold_build_info") != 1 {
		t.Error("a line is set aside, or there is no build")
	}

	// One logger that is heard, and one whose last sample is older than the 20
	// minutes after which a bay is 'not known' (README).
	if value("bayhold_loggers") != 0 {
		t.Error("loggers before one was heard")
	}
	for instrument, age := range map[string]time.Duration{"bay-4-mid": time.Minute, "bay-4-sill": 21 * time.Minute} {
		body := fmt.Sprintf(`{"at":%q,"air_c":20,"rh_pct":75}`, time.Now().Add(-age).Format(time.RFC3339))
		r, err := http.Post(s.http.URL+"/climate/bay-4?instrument="+instrument, "application/json", strings.NewReader(body))
		if err != nil || r.StatusCode != http.StatusOK {
			t.Fatalf("the sample of %s: %v %v", instrument, r, err)
		}
		r.Body.Close()
	}
	if heard, silent := value("bayhold_loggers"), value("bayhold_loggers_silent"); heard != 2 || silent != 1 {
		t.Errorf("%v loggers, %v of them silent; want 2 and 1", heard, silent)
	}

	// Nothing names a person, a vehicle or a phone.
	_, text := scrape(t, s.Metrics())
	for _, name := range []string{"V5", "TA MK", p.device.String(), crew.String(), "wash", "bay-4", "Bay 4", "Mara"} {
		if strings.Contains(text, name) {
			t.Errorf("it names %q", name)
		}
	}
}
