// Package record writes what a finished job tells a person two years later: the
// owner who asks whether it was like this when he gave it away, the film maker
// who asks which film and batch, which laminate, which surface readings, what
// cleaning and post-heat, and whether the film was allowed there.
//
// Of turns a job's lines into a Record: sections in the order in which they are
// asked for, each of blocks (blocks.go) that hold facts and sentences, never a
// layout. Package server/paper makes a document of it. What is against the shop
// stands first: the lead's go-aheads, the lines that came late, and what nobody
// measured (front.go). What nobody reported is said as that, never as fine.
//
// # Moments
//
// A moment is an interval of the shop server's time. It is written as one time
// when its ends fall into the same minute, and as two where the phone was out of
// reach meanwhile. A time that a person typed stands beside the time of writing.
//
// # Languages
//
// Every sentence is a text of text.go in each of checklist.Languages, every word
// for a key of the logbook a row of words.go. What people typed, names of panels
// and steps of the shop's own, stays as they typed it.
//
// The package is pure, and runs on the shop server alone.
package record
