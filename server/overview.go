package server

import (
	"log/slog"
	"sync"
	"time"

	"bayhold/checklist"
	leads "bayhold/checklist/lead"
	"bayhold/sync/logbook"
)

// overview is the shop as its lead sees it, folded from the store when somebody
// asks: the shop's logbook, the open jobs', and the places' back to the start of
// the oldest open job, three weeks at least. It is made again only when the
// store has grown or a minute has passed.
type overview struct {
	store *Store
	log   *slog.Logger
	clock func() int64

	mu      sync.Mutex
	shop    *checklist.Shop
	read    map[logbook.Log]uint64
	seen    uint64 // entries of the store at the last look
	look    *leads.Look
	plan    *leads.Schedule
	planned bool // plan is that of look
	slips   []leads.Slip
	nights  nights
}

// nights is the last night, which does not change once it is over.
type nights struct {
	from, to int64
	told     []leads.Night
}

func newOverview(store *Store, log *slog.Logger, clock func() int64) *overview {
	return &overview{store: store, log: log, clock: clock, shop: checklist.NewShop(), read: map[logbook.Log]uint64{}}
}

const (
	fresh       = 60_000                   // ms that a look is good for while nothing comes in
	keepClimate = 21 * 24 * 60 * 60 * 1000 // ms of climate at least
	planAhead   = 60 * 24 * 60 * 60 * 1000 // ms of opening hours that a plan knows
)

// reset makes the next look read everything anew.
func (o *overview) reset() {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.shop, o.read, o.look, o.nights = checklist.NewShop(), map[logbook.Log]uint64{}, nil, nights{}
	o.plan, o.planned, o.slips = nil, false, nil
}

// now returns the look at this moment. The caller holds the lock.
func (o *overview) now() (*leads.Look, error) {
	now := o.clock()
	grown := o.store.Entries()
	if o.look != nil && grown == o.seen && now-o.look.Now.Latest < fresh {
		return o.look, nil
	}
	if err := fold(o.store, o.shop, o.read, now); err != nil {
		return nil, err
	}
	o.look, o.seen, o.planned = o.at(o.shop, now), grown, false
	return o.look, nil
}

// schedule returns the plan of the look that now gave, and keeps what has moved
// since the one before. The caller holds the lock.
func (o *overview) schedule() *leads.Schedule {
	if o.planned {
		return o.plan
	}
	before := o.plan
	o.plan, o.planned = o.look.Schedule(), true
	if s := o.plan.Slips(before); len(s) > 0 {
		o.slips = append(s, o.slips...)
		o.slips = o.slips[:min(len(o.slips), 12)]
	}
	return o.plan
}

func (o *overview) at(s *checklist.Shop, now int64) *leads.Look {
	zone := zoneOf(s)
	_, offset := time.UnixMilli(now).In(zone).Zone()
	open := leads.OpenHours(leads.HoursOf(s), zone, now-8*24*60*60*1000, now+planAhead)
	return leads.At(s, checklist.Span{Earliest: now, Latest: now}, int64(offset)*1000, open)
}

// night returns what the bays went through since closing time until somebody
// came. The caller holds the lock.
func (o *overview) night(l *leads.Look) ([]leads.Night, error) {
	now := l.Now.Latest
	var from, to int64
	for _, s := range l.Open {
		if s.To <= now {
			from, to = s.To, now
		}
		if s.From <= now && s.From > from {
			to = s.From
		}
	}
	if from == 0 {
		return nil, nil
	}
	if o.nights.from == from && o.nights.to == to {
		return o.nights.told, nil
	}
	before, after := checklist.NewShop(), l
	if err := fold(o.store, before, map[logbook.Log]uint64{}, from); err != nil {
		return nil, err
	}
	if to != now {
		s := checklist.NewShop()
		if err := fold(o.store, s, map[logbook.Log]uint64{}, to); err != nil {
			return nil, err
		}
		after = o.at(s, to)
	}
	told := after.Nights(o.at(before, from))
	if to != now {
		o.nights = nights{from, to, told}
	}
	return told, nil
}

// fold adds to a shop what has come into the store since it was read and had
// arrived by a moment.
func fold(st *Store, shop *checklist.Shop, read map[logbook.Log]uint64, until int64) error {
	heads := st.Heads()
	oldest := until - keepClimate
	for log, h := range heads {
		if log.Class == checklist.JobLog && h.Closed == (logbook.Ref{}) {
			first, err := st.After(log, 0, 1, 1<<20)
			if err != nil {
				return err
			}
			for _, l := range first {
				if r, err := logbook.DecodeReceipt(l.Receipt); err == nil {
					oldest = min(oldest, r.Earliest)
				}
			}
		}
	}
	for log, h := range heads {
		if log.Class == checklist.JobLog && h.Closed != (logbook.Ref{}) && read[log] == 0 {
			continue // handed over before anybody asked
		}
		if log.Class == checklist.PlaceLog && read[log] == 0 {
			from, err := firstSince(st, log, h.Order, oldest)
			if err != nil {
				return err
			}
			read[log] = from
		}
		if read[log] >= h.Order {
			continue
		}
		var err error
		read[log], err = st.said(log, read[log], func(l checklist.Line, r logbook.Receipt) bool {
			if r.Arrived <= until {
				shop.Add(l)
			}
			return r.Arrived <= until
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// firstSince returns the order before the first line that arrived at a moment or
// later: orders and arrivals rise together.
func firstSince(st *Store, log logbook.Log, last uint64, since int64) (uint64, error) {
	lo, hi := uint64(0), last
	for lo < hi {
		m := lo + (hi-lo)/2
		lines, err := st.After(log, m, 1, 1<<20)
		if err != nil {
			return 0, err
		}
		if len(lines) == 0 {
			hi = m
			continue
		}
		r, err := logbook.DecodeReceipt(lines[0].Receipt)
		if err != nil {
			return 0, err
		}
		if r.Arrived < since {
			lo = m + 1
		} else {
			hi = m
		}
	}
	return lo, nil
}

// zoneOf is the shop's zone, UTC before it has one.
func zoneOf(s *checklist.Shop) *time.Location {
	if set, ok := s.Setting(); ok {
		if z, err := time.LoadLocation(set.Zone); err == nil {
			return z
		}
	}
	return time.UTC
}
