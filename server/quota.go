package server

import (
	"errors"

	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// quotaOf is what one phone may have set aside in a day. A phone in good
// order never comes near it; one that is broken, or means harm, does not fill
// the disk with what nobody will read. Lines that find no room stay on the phone.
var quotaOf = struct {
	lines, bytes int
	span         int64 // ms
	again        int64 // ms until the phone tries again
}{lines: 500, bytes: 2 << 20, span: 24 * 3600_000, again: 3600_000}

// errQuota answers lines of a phone of which too much was set aside.
var errQuota = errors.New("too many lines of this phone were set aside in a day")

// quota counts what was set aside of each phone lately. The writer's goroutine
// owns it.
type quota map[logbook.ID][]quotaItem

type quotaItem struct {
	at    int64 // ms
	bytes int
}

// add counts a line. What no phone brought is not counted.
func (q quota) add(device logbook.ID, at int64, bytes int) {
	if !device.IsZero() {
		q[device] = append(q[device], quotaItem{at, bytes})
	}
}

// lately is what was set aside of a phone in the span before a moment.
func (q quota) lately(device logbook.ID, now int64) (lines, bytes int) {
	items := q[device]
	for len(items) > 0 && items[0].at <= now-quotaOf.span {
		items = items[1:]
	}
	if len(items) == 0 {
		delete(q, device)
		return 0, 0
	}
	q[device] = items
	for _, i := range items {
		bytes += i.bytes
	}
	return len(items), bytes
}

// full finds the first task whose lines are set aside beyond their phone's
// room; -1 if there is room for all.
func (q quota) full(tasks []task, vs []judge.Verdict, now int64) int {
	type used struct{ lines, bytes int }
	fresh := map[logbook.ID]used{}
	for i, t := range tasks {
		for j := range t.subs {
			if v := &vs[j]; v.What != judge.Aside || !v.Fresh {
				continue
			}
			device := deviceOf(&t.subs[j])
			if device.IsZero() {
				continue
			}
			u, ok := fresh[device]
			if !ok {
				u.lines, u.bytes = q.lately(device, now)
			}
			u.lines, u.bytes = u.lines+1, u.bytes+len(t.subs[j].Bytes)
			if fresh[device] = u; u.lines > quotaOf.lines || u.bytes > quotaOf.bytes {
				return i
			}
		}
		vs = vs[len(t.subs):]
	}
	return -1
}

// deviceOf is the phone that brought a line; zero if none did.
func deviceOf(sub *judge.Submission) logbook.ID {
	if p, ok := sub.Tag.(*wsSession); ok {
		return p.device()
	}
	return logbook.ID{}
}
