package browsertest

import (
	"fmt"
	"time"
)

// Skew sets the phone's wall clock wrong by d, for every page and worker that
// it loads from now on, restarts included. The monotonic clock stays right, as
// it does on a phone whose owner sets the time by hand.
func (p *Phone) Skew(d time.Duration) {
	p.t.Helper()
	if p.skew != 0 {
		p.t.Fatalf("%s: the clock is wrong by %v already", p.name, p.skew)
	}
	p.skew = d
	p.Before(clockJS(d))
}

// clockJS replaces Date by one that is wrong by d.
func clockJS(d time.Duration) string {
	return fmt.Sprintf(`(() => {
		const Real = Date, skew = %d;
		globalThis.Date = class Date extends Real {
			constructor(...a) { if (a.length) super(...a); else super(Real.now() + skew); }
			static now() { return Real.now() + skew; }
		};
	})()`, d.Milliseconds())
}
