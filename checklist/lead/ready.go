package lead

import (
	"slices"

	"bayhold/checklist"
	"bayhold/checklist/plan"
)

// Usual times are usual, no more: a vehicle is told to its owner with half a day
// of work to spare, a bus with a night. Common practice, no source.
const (
	spare    = 4 * hour
	spareBus = 14 * hour
)

// Ready is when a vehicle may be ready for its owner: from the plan's end on, to
// that end with what the air may take longer and what the shop keeps to spare;
// half hours, for nobody can tell it closer. Without an end, open is set where
// early at least is known. All zero: the plan does not have it.
func (s *Schedule) Ready(l *Look, job checklist.ID) (early, late int64, open bool) {
	if s.Plan == nil {
		return 0, 0, false
	}
	for i := range s.Problem.Chains {
		if s.Problem.Chains[i].Film || s.Jobs[i] != job || s.Ends[i] == 0 {
			continue
		}
		margin := int64(spare)
		if v := slices.IndexFunc(l.vehicles, func(v vehicle) bool { return v.ID == job }); v >= 0 && l.vehicles[v].Open.Route == "bus-side" {
			margin = spareBus
		}
		const half = 30 * minute
		early = s.Ends[i] / half * half
		var slack int64
		for _, t := range l.Told() {
			if t.Job != job {
				continue
			}
			if t.Unkind == 0 {
				return early, 0, true
			}
			slack = max(slack, t.Unkind-t.About)
		}
		late = s.within(l, s.Ends[i]+slack+margin)
		return early, (late + half - 1) / half * half, false
	}
	return 0, 0, false
}

// within is a moment, or the next one at which somebody is there.
func (s *Schedule) within(l *Look, at int64) int64 {
	i := slices.IndexFunc(l.Open, func(o plan.Span) bool { return o.To > at })
	if i < 0 {
		return at
	}
	return max(at, l.Open[i].From)
}
