package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"bayhold/checklist/limit"
	"bayhold/checklist/material"
	"bayhold/checklist/paint"
	"bayhold/checklist/rest"
)

// jobSciences are the sciences of the job around the film: fresh paint,
// material and rest.
func jobSciences() []science {
	return []science{
		{
			name: "paint-wait", about: "how long fresh paint still waits, by cure and by how warm it stood",
			screen: "check-in and the gate of the repaint route",
			inputs: []input{
				choice("cure", "how it was hardened", true, cureKeys()...),
				pair("stood", "how long it stood at which temperature", 0, paint.Days, paint.AtC),
			},
			example: "--cure air-dried --stood 10d,20C --stood 6d,46F",
			run:     paintWait,
		},
		{
			name: "patch-test", about: "what a gas patch test on fresh paint says",
			screen: "the patch test of the repaint route",
			inputs: slices.Concat(numbers(paint.PatchInputs...), []input{
				flagged("thickest", "one place is on the thickest paint"),
				flagged("bubbles", "bubbles were seen"), flagged("flake", "paint came off"),
			}),
			example: "--stood 24h --coldest 68F --cycle 130F --thickest",
			run: func(v values) (answer, error) {
				p, err := paint.PatchTest{
					SizeMM: v.n("size"), Places: v.n("places"), Thickest: v.is("thickest"), StoodH: v.n("stood"), ColdestC: v.n("coldest"),
					CycleC: v.n("cycle"), CycleH: v.n("cycle-time"), Bubbles: v.is("bubbles"), PaintFlake: v.is("flake"),
				}.Judge()
				return answer{[]field{
					word("outcome", paint.OutcomeNames[p.Outcome]), word("why", p.Why), num("repeat-after", float64(p.RepeatMs)/3.6e6, "h"),
				}, p.Sentence}, err
			},
		},
		{
			name: "drops", about: "how many drops of a roll hang on a side",
			screen:  "the survey of a bus side",
			inputs:  numbers(material.Side, material.Width, material.Edge, material.Overlap),
			example: "--side 12m --width 1370mm",
			run: func(v values) (answer, error) {
				n, err := material.Drops(v.n("side"), v.n("width"), v.n("edge"), v.n("overlap"))
				s := fmt.Sprintf("%d drops.", n)
				if n == 1 {
					s = "One piece."
				}
				return answer{[]field{num("drops", float64(n), "")}, s}, err
			},
		},
		{
			name: "take-off", about: "film off the roll for a list of pieces",
			screen: "the survey, for the roll order",
			inputs: slices.Concat([]input{
				{
					key: "piece", about: "one body panel", many: true, least: 1,
					parts: []part{{name: true}, {Input: material.Along}, {Input: material.Across}, {Input: limit.Input{Free: true}, words: bleedKeys()}, {Input: limit.Input{Free: true}, words: []string{"-", "laps"}}},
				},
				flagged("keep", "direction kept: print, metallic, brushed, flake"), flagged("printed", "a start of the printer is lost"),
				flagged("laminated", "a start of the laminator is lost"), flagged("first-time", "a spare of the hardest piece"),
			}, numbers(optional(material.Width), material.Edge, material.Overlap, material.RollM)),
			example: "--piece bonnet,1450mm,1150mm,bumper --piece left-door,1.2m,0.9m,flat,laps --keep",
			run:     takeOff,
		},
		{
			name: "hang-order", about: "the order in which pieces hang",
			screen: "dry fit, and the labels of the pieces",
			inputs: []input{
				{key: "piece", about: "a piece, listed from the rear", many: true, least: 1, parts: []part{{name: true}, {Input: limit.Input{Free: true}, words: hangWords}}},
				{key: "lap", about: "the first piece lies under the second", many: true, parts: []part{{name: true}, {name: true}, {words: material.ForceNames[:]}}},
				flagged("slow", "the vehicle stands or is slow: water wins over airflow"),
			},
			example: "--piece rear,contour --piece side --piece roof,ladder --lap rear,side,airflow --lap side,roof,water",
			run:     hangOrder,
		},
		{
			name: "rest", about: "counted rest hours and the release",
			screen: "rest, and the gate of the hand-over",
			inputs: slices.Concat([]input{pair("stood", "how long it rested at which temperature", 1, rest.Span, rest.AtC)}, numbers(rest.Need),
				[]input{{key: "now", about: "the moment to count from, usually this one", when: true, parts: []part{{Input: limit.Input{Free: true}}}}}),
			example: "--stood 8h,64F --stood 3h,55F --now 2026-03-11T07:30:00+01:00",
			run:     restHours,
		},
		{
			name: "first-wash", about: "when a fresh film may see rain and be washed",
			screen:  "hand-over and the care sheet",
			inputs:  []input{{key: "laid", about: "when the last piece was laid, RFC 3339", when: true, parts: []part{{}}}},
			example: "--laid 2026-03-11T14:30:00+01:00",
			run: func(v values) (answer, error) {
				w, err := rest.FirstWashOf(v.ms("laid"))
				a := answer{sentence: w.Sentence}
				for _, c := range rest.Table {
					from, prefer := c.From(w.LaidMs)
					a.fields = append(a.fields, moment(c.Key, from))
					if prefer != from {
						a.fields = append(a.fields, moment(c.Key+"-better", prefer))
					}
				}
				return a, err
			},
		},
	}
}

var hangWords = []string{"flat", "contour", "ladder", "ladder-contour"}

func cureKeys() (keys []string) {
	for _, c := range paint.Cures {
		keys = append(keys, c.Key)
	}
	return keys
}

func bleedKeys() (keys []string) {
	for _, b := range material.Bleeds {
		keys = append(keys, b.Key)
	}
	return keys
}

func ms(hours float64) int64 { return int64(math.Round(hours * 3.6e6)) }

func milli(c float64) int32 { return int32(math.Round(c * 1000)) }

func paintWait(v values) (answer, error) {
	c, _ := paint.CureOf(v.w("cure"))
	var stood []paint.Stood
	for _, d := range v.got["stood"] {
		stood = append(stood, paint.Stood{SpanMs: ms(d.nums[0]), MilliC: milli(d.nums[1])})
	}
	w, err := paint.WaitOf(c, stood)
	days := func(ms int64) float64 { return float64(ms) / 86.4e6 }
	return answer{[]field{
		num("counted", days(w.CountedMs), "d"), num("needed", days(w.NeedMs), "d"), num("stood", days(w.StoodMs), "d"),
		num("remaining-warm", days(w.RemainingMs), "d"), num("low", days(w.LowMs), "d"), num("high", days(w.HighMs), "d"),
		end("remaining-as-it-stands", days(w.ColdMs), w.ColdMs == paint.NeverMs, "d"),
		num("least-at-20C", c.LeastDays, "d"), num("better-at-20C", c.PreferDays, "d"), yes("patch-test-needed", c.Patch), yes("wait-over", w.Ready),
	}, w.Sentence}, err
}

func takeOff(v values) (answer, error) {
	var pieces []material.Piece
	for _, d := range v.got["piece"] {
		pieces = append(pieces, material.Piece{
			Name: d.words[0], Along: d.nums[1], Across: d.nums[2],
			Kind: material.Kind(wordAt(bleedKeys(), d.words[3])), Laps: d.words[4] == "laps",
		})
	}
	c, err := material.TakeOff(pieces, material.Roll{
		WidthMM: v.n("width"), EdgeMM: v.n("edge"), LengthM: v.n("roll-length"), OverlapMM: v.n("overlap"),
		Keep: v.is("keep"), Printed: v.is("printed"), Laminated: v.is("laminated"), FirstTime: v.is("first-time"),
	})
	if err != nil {
		return answer{}, err
	}
	var lines []string
	for _, p := range c.Placed {
		line := fmt.Sprintf("%s: %.0f mm along, %.0f mm across, roll %d at %.0f mm, %.0f mm in", pieces[p.Piece].Name, p.Along, p.Across, p.Roll+1, p.Y, p.X)
		if p.Drop > 0 {
			line += fmt.Sprintf(", drop %d", p.Drop+1)
		}
		if p.Turned {
			line += ", turned"
		}
		if p.Spare {
			line += ", spare"
		}
		lines = append(lines, line)
	}
	var usual []string
	for _, w := range material.Wastes {
		usual = append(usual, fmt.Sprintf("%s %.0f to %.0f %%", w.Name, w.Low*100, w.High*100))
	}
	return answer{[]field{
		num("length", c.LengthM, "m"), num("low", c.LowM, "m"), num("high", c.HighM, "m"), num("width", c.Roll.WidthMM, "mm"),
		num("rolls", float64(c.Rolls), ""), num("waste", c.Waste*100, "%"), word("usual-waste", strings.Join(usual, ", ")), list("piece", lines),
	}, c.Sentence}, nil
}

func hangOrder(v values) (answer, error) {
	var pieces []material.Hanging
	place := map[string]int{}
	for _, d := range v.got["piece"] {
		name := d.words[0]
		if _, twice := place[name]; twice {
			return answer{}, fmt.Errorf("piece %q is listed twice", name)
		}
		place[name] = len(pieces)
		pieces = append(pieces, material.Hanging{Name: name, Ladder: strings.HasPrefix(d.words[1], "ladder"), Contour: strings.HasSuffix(d.words[1], "contour")})
	}
	var laps []material.Lap
	for _, d := range v.got["lap"] {
		var at [2]int
		for i := range at {
			p, ok := place[d.words[i]]
			if !ok {
				return answer{}, fmt.Errorf("lap names piece %q, which no --piece lists", d.words[i])
			}
			at[i] = p
		}
		laps = append(laps, material.Lap{Under: at[0], Over: at[1], Force: material.Force(wordAt(material.ForceNames[:], d.words[2]))})
	}
	o, err := material.HangOrder(pieces, laps, v.is("slow"))
	if err != nil {
		return answer{}, err
	}
	var order, yielded []string
	for _, i := range o.Order {
		order = append(order, pieces[i].Name)
	}
	for _, l := range o.Yielded {
		yielded = append(yielded, pieces[l.Under].Name+" under "+pieces[l.Over].Name+" by "+material.ForceNames[l.Force])
	}
	return answer{[]field{list("hang", order), list("gave-way", yielded)}, o.Sentence}, nil
}

func restHours(v values) (answer, error) {
	var c rest.Counted
	for _, d := range v.got["stood"] {
		span, at := ms(d.nums[0]), milli(d.nums[1])
		c.Ms += rest.Credit(at, span)
		c.CautiousMs += rest.Cautious(at, span)
		c.PausedMs += span - rest.Credit(at, span)
		c.Running = at >= rest.CountsFromMilliC
	}
	r, err := rest.ReleaseOf(c, ms(v.n("need")), v.ms("now"))
	hours := func(ms int64) float64 { return float64(ms) / 3.6e6 }
	return answer{[]field{
		num("counted", hours(c.Ms), "h"), num("low", hours(c.CautiousMs), "h"), num("paused", hours(c.PausedMs), "h"),
		num("remaining", hours(r.RemainingMs), "h"), yes("ready", r.Ready), moment("earliest", r.EarliestMs), moment("latest", r.LatestMs),
	}, r.Sentence}, err
}
