// Package plan lays out the shop's coming days: which vehicle goes where, who
// works on it when, and what makes a promise late.
//
// # Problem
//
// A vehicle is a [Chain] of tasks, from where it stands now to its hand-over. A
// task is work, done by so many hands of one crew inside opening hours (it goes
// on the next morning where the evening cut it off), and before the work may lie
// hours that pass by themselves: drying, rest, solvent leaving a print. Those
// hours go on at night, and each bay says when they do not count there (its
// [Bay.Idle], from the forecast). A vehicle takes one bay at its first task and
// keeps it until its last. Some tasks do not go together in one air space: a wash
// beside laying, solvent beside flame, dust beside wiped panels ([Conflicts]).
// The film's own chain (print, gas out, laminate, rest) runs beside the
// vehicle's and meets it at the dry fit; it takes no bay.
//
// The answer is the plan with the least lateness against what was promised, each
// vehicle's hours weighed alike, and among those the one with the earliest ends.
//
// # Method
//
// Schedules are built in the order of their starts: every next task begins as
// early as hands, bay and air allow, not before the last one that was placed.
// For goals that never gain by a later end, one of these schedules is best
// (active schedules: Giffler and Thompson, "Algorithms for solving
// production-scheduling problems", Operations Research 8 (1960) 487-503). The
// search goes through them depth first, the most promising first, and leaves out
// what cannot win: by the time that each vehicle still needs if it met nobody,
// by a crew's remaining work, and where another order of the same tasks left
// everything free no later (the dominance of Gromicho et al., "Solving the
// job-shop scheduling problem optimally by dynamic programming", Computers and
// Operations Research 39 (2012) 2968-2977). [Plan.Exact] says that the search
// came to its end; up to six bays it does. Larger shops are planned by a beam of
// the best partial schedules, which is good and proves nothing.
//
// # What it does not know
//
// That four hands on one van are slower than twice two, that a hand is better at
// rivets, that the owner comes early. It proposes; the lead decides, and no gate
// ever opens by a plan.
//
// Everything is pure; now is in the problem. Moments are milliseconds since the
// Unix epoch.
package plan
