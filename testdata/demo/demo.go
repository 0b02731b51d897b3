// Package demo is the invented shop that 'serve --demo' shows, as two files of
// JSON Lines written by the generator in gen from the story in story. Nothing
// in it was measured; air and surfaces come out of a small model.
package demo

import (
	_ "embed"
	"time"
)

// RunA is the run in which the van gets wet: the one that the demo shows.
//
//go:embed run-a.jsonl
var RunA []byte

// RunB is the run in which somebody flushed the bay first.
//
//go:embed run-b.jsonl
var RunB []byte

// Moment is the story's Wednesday 08:00, at which the demo begins.
var Moment = time.Date(2026, time.January, 14, 8, 0, 0, 0, time.UTC)

// Shop is the name of the shop and of its logbook.
const Shop = "Tarnbrook Six"
