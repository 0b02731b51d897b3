package lead

import (
	"math"
	"strconv"

	"bayhold/checklist"
)

// A vehicle that is longer than a bay or higher than its door does not go in.
// Only measures that somebody gave are compared: what nobody measured is asked,
// and stops nothing.

// size is a vehicle's measures in mm, 0 where nobody said.
type size struct{ length, height int64 }

// sizeOf is what was said last of a vehicle.
func (l *Look) sizeOf(id checklist.ID) (s size) {
	for _, line := range l.Shop.Lines(id, 0) { // the latest first
		b, ok := line.Body.(checklist.Asked)
		if !ok || line.Struck {
			continue
		}
		n, _ := strconv.ParseInt(b.Answer, 10, 64)
		switch {
		case b.What == "length-mm" && s.length == 0:
			s.length = n
		case b.What == "height-mm" && s.height == 0:
			s.height = n
		}
	}
	return s
}

// Sized says whether somebody measured a vehicle.
func (l *Look) Sized(job checklist.ID) bool {
	s := l.sizeOf(job)
	return s.length != 0 && s.height != 0
}

// tooLarge says why a vehicle does not go into a bay, or is "".
func (l *Look) tooLarge(v *vehicle, p *checklist.PlaceAdd) string {
	s, name := l.sizeOf(v.ID), v.Open.Label
	long, high := l.metres(s.length*1000), l.metres(s.height*1000)
	switch over := func(mm, most int64) bool { return most != 0 && mm*1000 > most }; {
	case over(s.length, p.Length):
		return name + " is " + long + " long, " + p.Name + " takes " + l.metres(p.Length) + "."
	case over(s.height, p.Door):
		return name + " is " + high + " high, the door of " + p.Name + " takes " + l.metres(p.Door) + "."
	case over(s.height, p.Height):
		return name + " is " + high + " high, " + p.Name + " takes " + l.metres(p.Height) + "."
	}
	return ""
}

// metres is a length in the shop's unit. It is told in hundredths, and was
// compared before.
func (l *Look) metres(um int64) string {
	unit, n := " m", float64(um)/1e6
	if set, ok := l.Shop.Setting(); ok && set.Units == "F" {
		unit, n = " ft", float64(um)/304_800
	}
	return strconv.FormatFloat(math.Round(n*100)/100, 'f', -1, 64) + unit
}
