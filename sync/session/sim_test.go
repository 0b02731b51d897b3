package session_test

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"

	"pgregory.net/rapid"
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
	"backup restored", "logbook rewound", "gap filled", "old store came back", "fork", "new writer", "line set aside",
	"line brought back", "line brought back that was there", "line brought back to a name that is taken", "line without proof set aside", "forged run",
	"shelf brought back", "shelves cleared", "phone lost for good", "act lost with every disk that had it", "line taken back", "act set aside by a fork",
	"gate of ten minutes open", "claim of 15 minutes fresh",
}

// TestSimulation runs both ends through everything that goes wrong, and
// asserts that nothing is lost, nothing is there twice, all copies agree to
// the byte, and no clock opens a gate early or keeps a claim fresh too long.
// The schedules are the same every time, so that a rare fault of a rare schedule
// does not stand in the way of other work; BAYHOLD_LONG=1 draws new ones, as many
// as -rapid.checks says.
func TestSimulation(t *testing.T) {
	if seed := flag.Lookup("rapid.seed"); os.Getenv("BAYHOLD_LONG") == "" && seed.Value.String() == "0" {
		seed.Value.Set("1")
		defer seed.Value.Set("0")
	}
	saw := map[string]int{}
	schedules := 0
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		rng := rand.New(rand.NewPCG(seed, 1))
		s := newSchedule(t, rng.IntN, 3+rng.IntN(2), breakage{})
		s.run(200)
		schedules++
		for k, n := range s.saw {
			saw[k] += n
		}
	})
	if t.Failed() || schedules < 1000 {
		return // few schedules need not meet every fault
	}
	for _, k := range faults {
		if saw[k] == 0 {
			t.Errorf("in %d schedules there was no %q", schedules, k)
		}
		t.Logf("%-40s %d", k, saw[k])
	}
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
	} {
		t.Run(name, func(t *testing.T) {
			for seed := range uint64(50) {
				if why := broken(seed, brk); why != "" {
					t.Logf("schedule %d: %s", seed, why)
					return
				}
			}
			t.Error("50 schedules noticed nothing")
		})
	}
}

func broken(seed uint64, brk breakage) (why string) {
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
	newSchedule(catcher{}, rng.IntN, 3+rng.IntN(2), brk).run(200)
	return ""
}
