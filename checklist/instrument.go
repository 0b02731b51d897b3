package checklist

import (
	"slices"

	"bayhold/checklist/air"
)

// The register of instruments: what each was found to be off by, since when and
// against what. A reading that names its instrument is judged by the error that
// stood when it was taken; one that names none, or one that nobody entered, by
// the shop's rule for its sort. A check that is too long ago is told and stops
// nothing.

// InstrumentState is an instrument as it stands in the register; Due says that
// its last check is longer ago than the shop's rule.
type InstrumentState struct {
	Instrument
	Due bool
}

// Instruments returns the register, what was written last first.
func (s *Shop) Instruments(now int64) []InstrumentState {
	l := s.defaults
	if hash, _, ok := s.RulesInForce(); ok {
		l = s.rules[hash]
	}
	var out []InstrumentState
	for i := len(s.shop.instruments) - 1; i >= 0; i-- {
		b := s.shop.instruments[i].Body.(Instrument)
		older := false
		for k := range out {
			older = older || out[k].Name == b.Name
		}
		if !older {
			out = append(out, InstrumentState{b, !b.Gone && now-b.Checked > l.checkAfter})
		}
	}
	return out
}

// errors returns what an instrument could be off by at a moment. Of lines that
// nobody can put before or after the moment the largest counts; sure says that
// one of them surely stood by then.
func (s *Shop) errors(name string, at Span) (temp, rh int64, sure bool) {
	all := s.shop.instruments
	for i := len(all) - 1; i >= 0 && !sure; i-- {
		e := all[i]
		if b := e.Body.(Instrument); b.Name == name && e.act.Earliest <= at.Latest {
			temp, rh, sure = max(temp, b.Error), max(rh, b.RHError), e.act.Latest <= at.Earliest
		}
	}
	return temp, rh, sure
}

// InstrumentAt returns an instrument as the register had it when a reading was
// taken.
func (s *Shop) InstrumentAt(name string, at Span) (Instrument, bool) {
	for _, e := range slices.Backward(s.shop.instruments) {
		if b := e.Body.(Instrument); b.Name == name && e.act.Latest <= at.Latest {
			return b, true
		}
	}
	return Instrument{}, false
}

// errorOf returns the error of a surface reading, in mK.
func (v *view) errorOf(e *entry) int64 {
	b := e.Body.(Reading)
	n, _, sure := v.shop.errors(b.With, e.act)
	if !sure && v.limits != nil {
		n = max(n, v.limits.errorOf(b.Instrument))
	}
	return n
}

// dewError returns how far above what it said the dew point may lie, by the
// register's errors of the instruments of this air.
func (v *view) dewError(a *stretch) (most int64) {
	p := v.shop.place(v.stays[len(v.stays)-1].place)
	names := p.instruments
	if e := p.hands.last(); a.source != fromLogger && e != nil {
		names = []string{e.Body.(ClimateReading).Instrument}
	}
	for _, name := range names {
		temp, rh, _ := v.shop.errors(name, v.now)
		dew, _ := air.DewPointMilli(a.airMost, a.rhMost)
		off, _ := air.DewPointMilli(a.airMost+int32(temp), min(a.rhMost+int32(rh), 100_000))
		most = max(most, int64(off-dew))
	}
	return most
}
