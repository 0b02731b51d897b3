// Package forecast says what a bay's air will do in the next hours, from the
// bay's own history, and what the weather outside will.
//
// # Model
//
// A bay is one well-mixed volume with a schedule. For its temperature T and
// its vapour pressure e alike,
//
//	dT/dt = n (To - T) b + g(hour of the day) + s on(t)
//	de/dt = n (eo - e)   + g(hour of the day) + s on(t)
//
// n is the rate in 1/h at which the bay follows (for the vapour: its air
// changes), To and eo the air outside, g what people, thermostat and wash do at
// this hour of the day, and s what a thing does that is on since a known
// moment: a heater that was lit, a door that stands open. It is an
// autoregression of the first order with inputs and a periodic level, the
// simplest of the grey-box models of Bacher and Madsen, "Identifying suitable
// models for the heat dynamics of buildings", Energy and Buildings 43 (2011)
// 1511-1522. The 24 levels of the day are held together by a penalty on the
// difference of neighbours (Whittaker 1923; Eilers and Marx 1996), so that an
// hour that nobody has seen yet lies between those that were. The fit is least
// squares on steps of half an hour, reweighted after Huber, "Robust estimation
// of a location parameter", Ann. Math. Statist. 35 (1964) 73-101, so that a
// door or a wash at noon does not become a habit of the bay.
//
// A day or two show few habits, so the levels are drawn to one level for all
// hours until the days speak for more, and what a thing does is drawn to nothing
// until it was on for some hours.
//
// What the law does not explain of the last half hour goes on for a while and
// fades, as an autoregressive error does (Hyndman and Athanasopoulos, Forecasting:
// Principles and Practice, chapter on dynamic regression; from memory): a heater
// that somebody turned down is in no habit. Of that drift what the instrument's
// scatter would show alone is taken off; how much it scatters the second
// differences of its readings tell. A forecast begins at the last reading and,
// where the instrument scatters, at those of the half hour before it too, each
// carried on to now. Late in the first day it goes over to what was at the same
// hour (the seasonal naive method of the same book): no law of ours knew better.
//
// The weather is a daily wave about a level, fitted the same way, and what the
// wave misses fades out over a day.
//
// # Range
//
// The interval is what the model missed in this bay's own past: a law that was
// fitted to what lay before forecasts from every hour of what came (the
// rolling origin of the same book), with the weather and the doors as they were
// known then, and of its misses, at each number of hours ahead, the interval holds
// nine in ten. A bay with a short past counts little of its own; what it lacks is
// taken from a table of what generated bays miss (Usually). It never narrows with
// the hours ahead. Against 'stays as it is' the table in testdata/forecast has the
// errors; it is made by package backtest, which says what was chosen on what.
//
// # What it does not know
//
// A door that will be opened, a wash that nobody planned, a timer that has not
// switched yet while anybody looked, where a thermostat will stop a heater that
// was lit an hour ago. Two or three hours ahead of such a switch it is no
// better than 'stays as it is' for the air. It warns; a gate passes on a fresh
// reading only.
//
// All functions are pure, and take the moment from the last sample.
package forecast
