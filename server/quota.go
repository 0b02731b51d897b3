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

// errQuota answers lines of a phone of which too much was set aside. This is
// what the phone shows, as noRoom where the disk takes nothing.
var errQuota = errors.New("The lead must look at this phone's lines first. They stay on this phone.")

const noRoom = "The shop cannot write: its disk may be full. Lines stay on this phone."

// overQuota says that some tasks hold such lines: those for which there is room,
// and the others.
type overQuota struct{ fit, over []task }

func (*overQuota) Error() string { return errQuota.Error() }

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

// part parts the lines that would be set aside beyond their phone's room from the
// others; nil if there is room for all. With such a line goes what its writer
// wrote behind it in the same logbook, which would leave a gap.
func (q quota) part(tasks []task, vs []judge.Verdict, now int64) *overQuota {
	type used struct{ lines, bytes int }
	type run struct {
		log    logbook.Log
		writer logbook.ID
	}
	fresh := map[logbook.ID]used{}
	var out overQuota
	for _, t := range tasks {
		if t.own != nil {
			out.fit = append(out.fit, t)
			continue
		}
		fit, over := task{done: t.done}, task{done: t.done}
		behind := map[run]bool{}
		for j := range t.subs {
			sub, v := &t.subs[j], &vs[j]
			of := run{sub.Entry.Log, sub.Entry.Writer}
			if device := deviceOf(sub); v.What == judge.Aside && v.Fresh && !device.IsZero() && !behind[of] {
				u, ok := fresh[device]
				if !ok {
					u.lines, u.bytes = q.lately(device, now)
				}
				if u.lines, u.bytes = u.lines+1, u.bytes+len(sub.Bytes); u.lines > quotaOf.lines || u.bytes > quotaOf.bytes {
					behind[of] = true
				} else {
					fresh[device] = u
				}
			}
			if behind[of] {
				over.subs = append(over.subs, *sub)
			} else {
				fit.subs = append(fit.subs, *sub)
			}
		}
		vs = vs[len(t.subs):]
		switch {
		case len(over.subs) == 0:
			out.fit = append(out.fit, t)
			continue
		case len(fit.subs) > 0:
			out.fit = append(out.fit, fit)
		}
		out.over = append(out.over, over)
	}
	if out.over == nil {
		return nil
	}
	return &out
}

// deviceOf is the phone that brought a line; zero if none did.
func deviceOf(sub *judge.Submission) logbook.ID {
	if p, ok := sub.Tag.(*wsSession); ok {
		return p.device()
	}
	return logbook.ID{}
}
