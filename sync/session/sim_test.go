package session_test

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

func number(e logbook.Entry) uint64 {
	r := cbor.NewReader(e.Body)
	r.Map()
	r.Text()
	return r.Uint()
}

// faults are what a run of the simulation must have met to count.
var faults = []string{
	"clock hours off", "clock that drifts", "clock set forwards", "clock set back", "monotonic clock stood still", "page closed",
	"frames to the shop lost", "frames to the phone lost", "half-open socket", "silent socket closed",
	"frame twice", "frames out of order", "frame refused by the shop", "frame refused by the phone",
	"phone crash before its store", "phone crash after its store",
	"shop crash before fsync", "shop crash after fsync", "shop crash between fsync and answer",
	"backup restored", "line ahead of a copy unkept", "logbook rewound", "gap filled", "old store came back", "fork", "new writer", "line set aside",
	"line brought back", "line brought back that was there", "line brought back to a name that is taken", "line without proof set aside", "forged run",
	"shelf brought back", "shelves cleared", "phone lost for good", "act lost with every disk that had it", "line taken back", "act set aside by a fork",
	"no room on the shelf", "no room on the disk", "told to come later", "sent again later", "goodbye for want of room",
	"gate of ten minutes open", "claim of 15 minutes fresh",
}

var (
	schedules = flag.Uint64("schedules", 100, "how many schedules TestSimulation runs")
	first     = flag.Uint64("first", 0, "the first of them; with -schedules 1 it is run alone")
)

// TestSimulation runs both ends through everything that goes wrong, and
// asserts that nothing is lost, nothing is there twice, all copies agree to
// the byte, and no clock opens a gate early or keeps a claim fresh too long.
// The schedules are the same every time, so that a rare fault of a rare schedule
// does not stand in the way of other work; BAYHOLD_LONG=1 draws new ones. Each
// is alone in its world, so every core runs its own.
func TestSimulation(t *testing.T) {
	from := *first
	if os.Getenv("BAYHOLD_LONG") != "" && from == 0 {
		from = rand.Uint64()
	}
	var (
		next atomic.Uint64
		mu   sync.Mutex
		saw  = map[string]int{}
		all  sync.WaitGroup
	)
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := next.Add(1) - 1; i < *schedules && !t.Failed(); i = next.Add(1) - 1 {
				met, why := simulate(from+i, breakage{})
				if why != "" {
					t.Errorf("schedule %d, alone with -args -schedules 1 -first %[1]d: %s", from+i, why)
				}
				mu.Lock()
				for k, n := range met {
					saw[k] += n
				}
				mu.Unlock()
			}
		})
	}
	all.Wait()
	if t.Failed() || *schedules < 1000 {
		return // few schedules need not meet every fault
	}
	for _, k := range faults {
		if saw[k] == 0 {
			t.Errorf("in %d schedules there was no %q", *schedules, k)
		}
		t.Logf("%-40s %d", k, saw[k])
	}
}

// simulate runs one schedule and answers what it met and what was wrong.
func simulate(seed uint64, brk breakage) (saw map[string]int, why string) {
	defer func() {
		if r := recover(); r != nil {
			s, ok := r.(stop)
			if !ok {
				panic(r)
			}
			why = s.why
		}
	}()
	rng := rand.New(rand.NewPCG(seed, 1))
	s := newSchedule(catcher{}, rng.IntN, 3+rng.IntN(2), brk)
	s.run(200)
	return s.saw, ""
}

// stop ends a schedule that met what it should have.
type stop struct{ why string }

type catcher struct{}

func (catcher) Fatalf(format string, args ...any) { panic(stop{fmt.Sprintf(format, args...)}) }

// TestBroken breaks the shop on purpose; the simulation must notice.
func TestBroken(t *testing.T) {
	for name, brk := range map[string]breakage{
		"answers before fsync":    {ackBeforeSync: true},
		"believes a stale cursor": {staleCursor: true},
		"trusts the wall clock":   {trustWall: true},
		"believes any head":       {anySignature: true},
		"gets nothing back":       {keepRuns: true},
		"goes on behind a fork":   {anyFork: true},
		"says nothing of later":   {loseLater: true},
	} {
		t.Run(name, func(t *testing.T) {
			for seed := range uint64(50) {
				if _, why := simulate(seed, brk); why != "" {
					t.Logf("schedule %d: %s", seed, why)
					return
				}
			}
			t.Error("50 schedules noticed nothing")
		})
	}
}
