package browsertest

import (
	"testing"
	"time"
)

// engine is what the browsers beside Chromium have in common once they can
// evaluate JavaScript: an expression, its promise awaited, as JSON into out.
type engine struct {
	t        testing.TB
	name     string
	evaluate func(expression string, out any) error
}

// Do evaluates an expression of JavaScript, waits for its promise, and puts its
// value into out.
func (e *engine) Do(expression string, out any) {
	e.t.Helper()
	if err := e.evaluate(expression, out); err != nil {
		e.t.Fatalf("%s: %v", e.name, err)
	}
}

// Until polls a condition of JavaScript until it is true.
func (e *engine) Until(what, condition string) {
	e.t.Helper()
	var last error
	for began := time.Now(); time.Since(began) < 2*Patience; time.Sleep(20 * time.Millisecond) {
		var ok bool
		if last = e.evaluate("(async () => !!(await ("+condition+")))()", &ok); last == nil && ok {
			return
		}
	}
	var seen string
	e.evaluate(`location.href + '\n' + document.body.innerText.slice(0, 1500)`, &seen)
	e.t.Fatalf("%s: waited in vain for %s (%s; last error %v)\n%s", e.name, what, condition, last, seen)
}

// untilTappable waits for an element that a finger can reach, in the middle of
// the screen.
func (e *engine) untilTappable(id string) {
	e.t.Helper()
	e.Until(id+" ready for a tap", `(() => {
		const e = `+find(id)+`;
		if (!e || e.disabled) return false;
		e.scrollIntoView({block: 'center', behavior: 'instant'});
		const r = e.getBoundingClientRect(), top = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
		return top && e.contains(top);
	})()`)
}
