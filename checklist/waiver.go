package checklist

import "strings"

// waived takes away the causes that the lead has let pass on this gate, and
// returns what is left and the waiver that let the last one pass.
func (v *view) waived(stage, panel, zone string, holds []*cause) ([]*cause, Waiver) {
	var by Waiver
	if len(v.job.waivers) == 0 {
		return holds, by
	}
	var left []*cause
	for _, c := range holds {
		covered := false
		for _, e := range v.job.waivers {
			w := e.Body.(Waiver)
			if w.Stage != stage || w.Panel != "" && w.Panel != panel || w.Zone != "" && w.Zone != zone {
				continue
			}
			if p, ok := v.shop.Person(e.By); ok && p.Role == "lead" && !c.firm && covers(w, e, c) {
				covered, by = true, w
			}
		}
		if !covered {
			left = append(left, c)
		}
	}
	return left, by
}

// covers says whether a waiver names this cause: the same key, no more missing
// than was shown, and not begun after the waiver was given.
func covers(w Waiver, e *entry, c *cause) bool {
	for _, name := range w.Causes {
		key, value, measured := strings.Cut(name, "=")
		if key != c.key {
			continue
		}
		if measured {
			if n, ok := whole(value); !ok || c.short > n {
				continue
			}
		}
		if c.since <= e.Span.Latest {
			return true
		}
	}
	return false
}

// whole reads a number that name has written. strconv would bring its errors
// along, which quote.
func whole(s string) (n int64, ok bool) {
	for i := 0; i < len(s); i++ {
		d := int64(s[i]) - '0'
		if d < 0 || d > 9 || n > (1<<62)/10 {
			return 0, false
		}
		n = n*10 + d
	}
	return n, s != ""
}
