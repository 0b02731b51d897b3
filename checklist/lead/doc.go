// Package lead answers what the shop's lead asks, from the shop's lines up to a
// moment: what the air of each bay will do (air.go), when a waiting gate opens
// and what that assumes (told.go), whether a vehicle may go into a bay now and a
// heater be lit tonight (move.go), which four things are worth a call at night
// (alarm.go), what the night did (night.go), what the closing walk looks at
// (closing.go), and who does what until hand-over (shop.go, for package plan).
//
// Everything here warns or proposes. No gate opens by a forecast; a gate passes
// on a fresh reading. Ranges go from the kind side to the unkind side of the
// same sums: the bay's air at the ends of its forecast's interval, and the pace at
// which the vehicle's coldest spot follows it, learnt from its own readings
// (pace.go); before these tell one the usual time constant, a fifth shorter and a
// quarter longer (common practice, no source).
//
// Sentences have at most a dozen words and hold marks, as those of gates do.
// The package is pure: now, the zone and the opening hours are arguments.
package lead
