package main

import (
	"errors"
	"slices"

	"bayhold/checklist/film"
	"bayhold/checklist/heat"
	"bayhold/checklist/limit"
	"bayhold/checklist/stretch"
)

// filmSciences are the sciences of the film: shape, choice and heat.
func filmSciences() []science {
	return []science{
		{
			name: "channel", about: "how far a film stretches into a channel, and what to do",
			screen: "the survey, when a feature is measured",
			inputs: slices.Concat(
				[]input{choice("shape", "profile", true, stretch.ShapeNames[:]...)},
				numbers(stretch.Width, optional(stretch.Depth), optional(stretch.Floor), optional(stretch.Path)),
				stretchPlan(),
			),
			example: "--shape trapezoid --width 90mm --depth 20mm --floor 40mm --film cast-print",
			run: func(v values) (answer, error) {
				shape := stretch.Shape(slices.Index(stretch.ShapeNames[:], v.w("shape")))
				switch {
				case shape == stretch.Tape && !v.given("path"):
					return answer{}, errors.New("missing --path: the tape's length from lip to lip")
				case shape != stretch.Tape && !v.given("depth"):
					return answer{}, errors.New("missing --depth: the rod's reading at the deepest of three places")
				case shape == stretch.Trapezoid && !v.given("floor"):
					return answer{}, errors.New("missing --floor: the width of the flat floor")
				}
				s, err := stretch.Channel{Shape: shape, Width: v.n("width"), Depth: v.n("depth"), Floor: v.n("floor"), Path: v.n("path")}.Measure()
				return judged(v, s, err)
			},
		},
		{
			name: "dome", about: "how far a film stretches over a dome, and what to do",
			screen:  "the survey, when a feature is measured",
			inputs:  slices.Concat(numbers(stretch.HalfWidth, stretch.Height), stretchPlan()),
			example: "--half-width 90mm --height 35mm --film cast",
			run: func(v values) (answer, error) {
				s, err := stretch.Dome{HalfWidth: v.n("half-width"), Height: v.n("height")}.Measure()
				return judged(v, s, err)
			},
		},
		{
			name: "taped-dome", about: "the same from a soft tape over the top, two ways",
			screen: "the survey, when a feature is measured",
			inputs: slices.Concat(
				[]input{pair("way", "base and tape path over the top, both ways", 2, stretch.Width, stretch.Path)},
				stretchPlan(),
			),
			example: "--way 180mm,198mm --way 170mm,185mm --film cast",
			run: func(v values) (answer, error) {
				w := v.got["way"]
				if len(w) != 2 {
					return answer{}, errors.New("--way is given twice, at right angles")
				}
				s, err := stretch.TapedDome{Base1: w[0].nums[0], Path1: w[0].nums[1], Base2: w[1].nums[0], Path2: w[1].nums[1]}.Measure()
				return judged(v, s, err)
			},
		},
		{
			name: "film", about: "which film family suits a surface",
			screen: "the survey; the reason of a refusal on the refusal screen",
			inputs: slices.Concat(
				[]input{
					choice("surface", "what the film goes on", true, film.SurfaceKeys[:]...),
					choice("adhesive", "what holds it", false, film.AdhesiveKeys[:]...),
					choice("laminate", "what protects it", false, film.LaminateKeys[:]...),
					flagged("fresh-paint", "repainted, waited and patch-tested"),
				},
				numbers(film.Stay, film.Radius, film.Thickness),
			),
			example: "--surface rivets --stay 5years --laminate cast --adhesive strong --thickness 2mil",
			run: func(v values) (answer, error) {
				a, err := film.Choose(film.Job{
					Surface: film.Surface(slices.Index(film.SurfaceKeys[:], v.w("surface"))), StayMonths: v.n("stay"),
					Laminate: film.Laminate(wordAt(film.LaminateKeys[:], v.w("laminate"))),
					Adhesive: film.Adhesive(wordAt(film.AdhesiveKeys[:], v.w("adhesive"))),
					RadiusMM: v.n("radius"), ThicknessUM: v.n("thickness"), FreshPaint: v.is("fresh-paint"),
				})
				if err != nil {
					return answer{}, err
				}
				out := answer{sentence: a.Sentence}
				for _, c := range a.Choices {
					says := film.RatingNames[c.Rating]
					if c.Why != "" {
						says += ": " + c.Why
					}
					out.fields = append(out.fields, word(film.FamilyKeys[c.Family], says))
				}
				if a.Unknown != "" {
					out.fields = append(out.fields, word("not-known", a.Unknown))
				}
				return out, nil
			},
		},
		{
			name: "film-heat", about: "whether a film reading is right for the work",
			screen:  "lay and post-heat, on a film reading",
			inputs:  slices.Concat([]input{choice("work", "what the heat is for", true, targetKeys()...)}, numbers(heat.FilmC)),
			example: "--work press --film 150F",
			run: func(v values) (answer, error) {
				t, _ := heat.TargetOf(v.w("work"))
				f, err := heat.FilmOf(t, v.n("film"))
				return answer{[]field{
					word("state", heat.StateNames[f.State]), word("work", t.Action),
					num("low", float64(t.LowMilli)/1000, "C"), num("high", float64(t.HighMilli)/1000, "C"), word("pace", t.Pace),
				}, f.Sentence}, err
			},
		},
		{
			name: "pace", about: "how long the gun takes along a length",
			screen:  "post-heat, for the feature in hand",
			inputs:  numbers(heat.Length, heat.PerInch, heat.Guns),
			example: "--length 60in --pace 2s",
			run: func(v values) (answer, error) {
				p, err := heat.Travel(v.n("length"), v.n("pace"), v.n("guns"))
				return answer{[]field{
					num("time", p.Seconds, "s"), num("low", p.LowS, "s"), num("high", p.HighS, "s"), num("each-second", p.SpeedMS*1000, "mm"),
				}, p.Sentence}, err
			},
		},
		{
			name: "post-heat", about: "whether a ticked post-heat can be true",
			screen:  "post-heat, when it is ticked",
			inputs:  numbers(heat.Length, heat.Took, heat.Rivets, heat.Guns),
			example: "--length 78m --took 12min",
			run: func(v values) (answer, error) {
				w, err := heat.PostHeat(v.n("length"), v.n("rivets"), v.n("guns"), v.n("took"))
				return answer{[]field{
					yes("plausible", w.Plausible), num("least", w.LeastMin, "min"), num("expected", w.ExpectedMin, "min"),
					num("slow", w.SlowMin, "min"), num("part-done", w.Part*100, "%"),
				}, w.Sentence}, err
			},
		},
		{
			name: "cooling", about: "how soon a film off the panel is too cold again",
			screen:  "lay: why there is no countdown, and a reading is asked for",
			inputs:  numbers(heat.CoolInputs...),
			example: "--thickness 4mil --air 75F --from 180F --to 150F",
			run: func(v values) (answer, error) {
				c, err := heat.Cool(v.n("thickness"), v.n("air"), v.n("from"), v.n("to"), v.n("sides"), v.n("h"))
				return answer{[]field{
					num("time", c.Seconds, "s"), num("low", c.LowS, "s"), num("high", c.HighS, "s"),
					num("time-constant", c.TauS, "s"), num("h", c.H, "W/m2K"), num("biot", c.Biot, ""),
					num("on-bare-steel-at-once", heat.ContactC(c.FromC, c.AirC, heat.SteelEffusivity), "C"),
				}, c.Sentence}, err
			},
		},
	}
}

// optional makes an input free, and 0 when it is not typed.
func optional(in limit.Input) limit.Input {
	in.Free = true
	return in
}

// pair makes an input of two numbers that is given again and again.
func pair(key, about string, least int, a, b limit.Input) input {
	return input{key: key, about: about, many: true, least: least, parts: []part{{Input: a}, {Input: b}}}
}

func wordAt(words []string, w string) int { return max(0, slices.Index(words, w)) }

func targetKeys() (keys []string) {
	for _, t := range heat.Targets {
		keys = append(keys, t.Key)
	}
	return keys
}

func stretchPlan() []input {
	var keys []string
	for _, f := range stretch.Families {
		keys = append(keys, f.Key)
	}
	return []input{
		choice("film", "film family", false, keys...),
		flagged("hidden", "trim hides the place"), flagged("short-stay", "the film must come off within a year"),
	}
}

func judged(v values, s stretch.Strain, err error) (answer, error) {
	if err != nil {
		return answer{}, err
	}
	f, _ := stretch.FamilyOf(v.w("film"))
	a := stretch.Judge(s, f, stretch.Plan{Hidden: v.is("hidden"), ShortStay: v.is("short-stay")})
	fields := []field{
		word("verdict", stretch.VerdictNames[a.Verdict]), word("why", a.Why), word("film", f.Name),
		num("bridged", s.Line*100, "%"), num("low", s.Low*100, "%"), num("high", s.High*100, "%"),
		num("path", s.Path, "mm"),
	}
	if s.Dome {
		fields = append(fields, num("even", s.Even*100, "%"))
	} else {
		fields = append(fields,
			num("floor-first-least", 0, "%"), num("drawn-from-flats", s.Drawn, "mm"),
			num("ends", s.End*100, "%"), word("verdict-at-ends", stretch.VerdictNames[a.Ends]))
	}
	fields = append(fields,
		num("area", s.Area*100, "%"), num("film-left", s.Left*100, "%"),
		yes("post-heat", a.PostHeat), yes("look-next-day", a.Look), word("primer", stretch.PrimerNames[a.Primer]),
		yes("colour-shift", a.Shift), yes("near-a-limit", a.Near))
	return answer{fields, a.Sentence}, nil
}
