package server

import (
	"net/http"
	"os"
	"runtime"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// What an operator's own monitoring reads of this shop, in Prometheus' text
// format. It is off unless an address is given for it, and that address is the
// operator's to guard: so nothing here names a person, a vehicle, a bay or a
// phone. Everything but the histogram is counted when somebody asks.

// newOnDisk makes the histogram of how long rounds of the writer took to
// come to the disk. The bounds reach from a disk with a battery to a memory card that wears out.
func newOnDisk() prometheus.Histogram {
	return prometheus.NewHistogram(prometheus.HistogramOpts{
		Name:    "bayhold_commit_seconds",
		Help:    "Time from a round of lines being decided to it being on disk: written and synced.",
		Buckets: []float64{.0002, .0005, .001, .002, .005, .01, .02, .05, .1, .2, .5, 1, 2, 5},
	})
}

var (
	metricLines   = gauge("bayhold_lines_kept", "Lines in all logbooks.")
	metricAside   = gauge("bayhold_lines_aside", "Lines set aside that nobody has adopted.")
	metricPhones  = gauge("bayhold_phones_connected", "Phones whose socket is open.")
	metricStore   = gauge("bayhold_store_bytes", "Size of the store's file.")
	metricFree    = gauge("bayhold_disk_free_bytes", "Room on the disk of the data folder that the server may use.")
	metricPhotos  = gauge("bayhold_photos", "Photos and spoken notes that are whole.")
	metricLoggers = gauge("bayhold_loggers", "Loggers heard in the last two days.")
	metricSilent  = gauge("bayhold_loggers_silent", "Those of them that have said nothing for the shop's time.")
	metricBuild   = gauge("bayhold_build_info", "Always 1; the labels tell the app's bundle and the Go version.", "bundle", "go")
)

func gauge(name, help string, labels ...string) *prometheus.Desc {
	return prometheus.NewDesc(name, help, labels, nil)
}

// Metrics answers with what the shop's server measures.
func (s *Server) Metrics() http.Handler {
	r := prometheus.NewRegistry()
	r.MustRegister(s.writer.onDisk, counted{s})
	return promhttp.HandlerFor(r, promhttp.HandlerOpts{ErrorHandling: promhttp.ContinueOnError})
}

// counted is what is looked up when somebody asks.
type counted struct{ s *Server }

func (c counted) Describe(out chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{metricLines, metricAside, metricPhones, metricStore, metricFree, metricPhotos, metricLoggers, metricSilent, metricBuild} {
		out <- d
	}
}

// Collect leaves out what cannot be read just now: a gap in a curve is true,
// and a zero would not be.
func (c counted) Collect(out chan<- prometheus.Metric) {
	s := c.s
	say := func(d *prometheus.Desc, n float64, labels ...string) {
		out <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, n, labels...)
	}
	say(metricBuild, 1, s.app.bundle, runtime.Version())
	say(metricLines, float64(s.store.Entries()))
	say(metricPhones, float64(s.hub.count()))
	if list, err := s.store.Aside(); err == nil {
		n := 0
		for _, a := range list {
			if !a.Stands {
				n++
			}
		}
		say(metricAside, float64(n))
	}
	if st, err := os.Stat(s.store.Path()); err == nil {
		say(metricStore, float64(st.Size()))
	}
	if free, err := diskFree(s.cfg.Data); err == nil {
		say(metricFree, float64(free))
	}
	if n, err := s.photos.count(); err == nil {
		say(metricPhotos, float64(n))
	}
	if heard, silent, err := s.loggers(s.clock()); err == nil {
		say(metricLoggers, float64(heard))
		say(metricSilent, float64(silent))
	}
}

// count is how many pictures and spoken notes are whole.
func (p *photos) count() (n int, err error) {
	list, err := os.ReadDir(p.dir)
	for _, f := range list {
		if isSHA256(f.Name()) {
			n++
		}
	}
	return n, err
}

// loggersHeard is how far back a logger is looked for, ms: a stick that was
// taken out of its bay does not count as silent for ever.
const loggersHeard = 2 * 24 * 60 * 60 * 1000

// loggers counts the loggers heard lately, and those of them that have said
// nothing for the shop's time.
func (s *Server) loggers(now int64) (heard, silent int, err error) {
	s.writer.mu.RLock()
	_, rules, _ := s.writer.shop.RulesInForce()
	s.writer.mu.RUnlock()
	last := map[windowKey]int64{}
	err = s.store.read(func(v view) error {
		c := v.tx.Bucket(bucketClimate).Cursor()
		for k, raw := c.Seek(be64(uint64(max(0, now-loggersHeard)))); k != nil; k, raw = c.Next() {
			key := windowOf(k)
			w, err := readWindow(raw, key.start)
			if err != nil {
				return err
			}
			key.start = 0
			for _, p := range w.points {
				last[key] = max(last[key], p.at)
			}
		}
		return nil
	})
	for _, at := range last {
		if now-at > rules["silence"] {
			silent++
		}
	}
	return len(last), silent, err
}
