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
// The weather is a daily wave about a level, fitted the same way, and what the
// wave misses fades out over a day.
//
// # Range
//
// The interval is what the model missed in this bay's own past: forecasts from
// every full hour behind, at each number of hours ahead, and of their misses
// the one that nine in ten keep under (Hyndman and Athanasopoulos,
// Forecasting: Principles and Practice, on rolling origins). It never narrows
// with the hours ahead, and never falls below a floor that stands in limits.go,
// which a short history needs. Against 'stays as it is' the table in
// testdata/forecast has the errors; it is made by package backtest.
//
// # What it does not know
//
// A door that will be opened, a wash that nobody planned, a timer that has not
// switched yet while anybody looked, where a thermostat will stop a heater that
// was lit an hour ago. With a day of history or less it is little better than
// 'stays as it is' for the air of bays whose heater changes. It warns; a gate passes on a fresh reading
// only.
//
// All functions are pure, and take the moment from the last sample.
package forecast
