package main

import (
	"errors"
	"fmt"
	"slices"

	"bayhold/checklist/air"
	"bayhold/checklist/drying"
	"bayhold/checklist/infrared"
	"bayhold/checklist/limit"
	"bayhold/checklist/primer"
	"bayhold/checklist/sweat"
	"bayhold/checklist/warmup"
)

// all are the values of a table's inputs, in its order.
func (v values) all(table []limit.Input) []float64 {
	ns := make([]float64, len(table))
	for i, in := range table {
		ns[i] = v.n(in.Key)
	}
	return ns
}

// airSciences are the sciences of the air, of water and of warmth.
func airSciences() []science {
	return []science{
		{
			name: "dew-point", about: "the bay's air: dew point, water in it, how much it can still dry",
			screen:  "the bay's climate",
			inputs:  numbers(air.OfInputs...),
			example: "--air 60F --rh 50",
			run: func(v values) (answer, error) {
				a, err := air.Of(v.n("air"), v.n("rh"))
				return answer{[]field{
					num("dew-point", a.DewPointC, "C"), num("low", a.DewLowC, "C"), num("high", a.DewHighC, "C"), num("frost-point", a.FrostPointC, "C"), num("wet-bulb", a.WetBulbC, "C"),
					num("vapour-pressure", a.VapourPa, "Pa"), num("deficit", a.DeficitPa, "Pa"), num("water", a.WaterGM3, "g/m3"),
				}, a.Sentence}, err
			},
		},
		{
			name: "margin", about: "how far a surface is from getting wet, with the instruments' error",
			screen:  "the gates of drying and temperature, 'may I start?'",
			inputs:  numbers(air.MarginInputs...),
			example: "--air 68F --rh 70 --surface 60F",
			run: func(v values) (answer, error) {
				n := v.all(air.MarginInputs)
				m, err := air.MarginOf(n[0], n[1], n[2], n[3], n[4], n[5], n[6])
				return answer{[]field{
					num("margin", m.MarginK, "K"), num("low", m.LowK, "K"), num("high", m.HighK, "K"), num("likely-error", m.LikelyK, "K"),
					num("needed", m.NeedK, "K"), yes("enough", m.Enough), num("dew-point", m.DewPointC, "C"), num("surface-rh", m.SurfaceRH, "%"),
					yes("frost", m.Frost), num("frost-point", m.FrostPoint, "C"),
				}, m.Sentence}, err
			},
		},
		{
			name: "open-film", about: "how long a film of water lasts on an open panel, in two bounds",
			screen:  "drying",
			inputs:  numbers(drying.FilmInputs...),
			example: "--air 70F --rh 50 --panel 66F --film 0.1mm",
			run: func(v values) (answer, error) {
				n := v.all(drying.FilmInputs)
				f, err := drying.FilmOf(n[0], n[1], n[2], n[3], n[4])
				return answer{[]field{
					end("low", f.LowMin, f.Never, "min"), end("high", f.HighMin, f.Never || f.HighNever, "min"),
					end("heat-from-air-alone", f.AirBoundMin, f.AirBoundMin == 0, "min"), end("panel-holds-it", f.PanelBoundMin, f.PanelBoundMin == 0, "min"),
				}, f.Sentence}, err
			},
		},
		{
			name: "seam", about: "how long a wet seam still takes in this air",
			screen:  "drying, beside the counted hours",
			inputs:  numbers(drying.SeamInputs...),
			example: "--depth 5mm --air 21C --rh 50 --panel 21C",
			run: func(v values) (answer, error) {
				n := v.all(drying.SeamInputs)
				s, err := drying.SeamOf(n[0], n[1], n[2], n[3], n[4])
				return answer{[]field{
					end("time", s.Hours, s.Never, "h"), end("low", s.LowHours, s.LowHours == 0 && s.Never, "h"), end("high", s.HighHours, s.HighNever, "h"),
				}, s.Sentence}, err
			},
		},
		{
			name: "seam-after", about: "how much of a wet seam is dry after the climate it had",
			screen: "drying, beside the counted hours",
			inputs: slices.Concat(numbers(drying.DepthInput), []input{{
				key: "spell", about: "a stretch of climate at the seam: hours, air, humidity, panel", many: true, least: 1,
				parts: partsOf(drying.SpellInputs),
			}}),
			example: "--depth 10mm --spell 8h,16C,70%,12C --spell 4h,21C,55%,18C",
			run: func(v values) (answer, error) {
				var past []drying.Spell
				for _, d := range v.got["spell"] {
					past = append(past, drying.Spell{Hours: d.nums[0], AirC: d.nums[1], RHPct: d.nums[2], PanelC: d.nums[3]})
				}
				d, err := drying.SeamAfter(v.n("depth"), past)
				return answer{[]field{
					num("dry", d.DryMM, "mm"), num("low", d.LowMM, "mm"), num("high", d.HighMM, "mm"), num("share", d.Share*100, "%"),
					num("past", d.Hours, "h"), yes("dry-by-the-model", d.Dry),
				}, d.Sentence}, err
			},
		},
		{
			name: "heater-hour", about: "what one hour of heat at a wet seam saves",
			screen:  "drying, 'what would an hour of heater save?'",
			inputs:  numbers(drying.HeaterInputs...),
			example: "--depth 10mm --air 16C --rh 70 --panel 14C --heated 40C",
			run: func(v values) (answer, error) {
				n := v.all(drying.HeaterInputs)
				s, err := drying.HeaterHour(n[0], n[1], n[2], n[3], n[4], n[5])
				return saved(s), err
			},
		},
		{
			name: "extractor-hour", about: "what one hour of extraction saves",
			screen:  "drying, 'what would an hour of extractor save?'",
			inputs:  numbers(drying.ExtractorInputs...),
			example: "--depth 10mm --air 18C --rh 80 --panel 16C --outside 5C --outside-rh 60",
			run: func(v values) (answer, error) {
				n := v.all(drying.ExtractorInputs)
				s, err := drying.ExtractorHour(n[0], n[1], n[2], n[3], n[4], n[5], n[6], n[7])
				return saved(s), err
			},
		},
		{
			name: "sweat", about: "whether a cold vehicle sweats in a bay, how much and until when",
			screen:  "'may this van go into bay 4 now?', asked before the move",
			inputs:  numbers(sweat.OfInputs...),
			example: sweatExample,
			run: func(v values) (answer, error) {
				n := v.all(sweat.OfInputs)
				s, err := sweat.Of(n[0], n[1], n[2], n[3])
				course := func(name string, c sweat.Course) []field {
					return []field{
						yes(name+"sweats", c.Sweats), num(name+"water-on-skin", c.SkinGM2, "g/m2"), num(name+"water-at-spot", c.SpotGM2, "g/m2"),
						end(name+"spot-over-dew-point", c.SpotClear, c.ClearNever, "h"), end(name+"spot-keeps-margin", c.SpotReady, c.ReadyNever, "h"),
						end(name+"last-water-gone", c.Dry, c.DryNever, "h"),
					}
				}
				fields := slices.Concat([]field{num("dew-point", s.DewPointC, "C")}, course("", s.Course), course("low-", s.Kind), course("high-", s.Unkind))
				return answer{fields, s.Sentence}, err
			},
		},
		{
			name: "flush", about: "how long to flush a bay so that a cold vehicle does not sweat",
			screen:  "the way out of the sweat forecast",
			inputs:  numbers(sweat.FlushInputs...),
			example: sweatExample + " --outside -2C --outside-rh 85",
			run: func(v values) (answer, error) {
				n := v.all(sweat.FlushInputs)
				f, err := sweat.FlushOf(n[0], n[1], n[2], n[3], n[4], n[5], n[6])
				return answer{[]field{
					end("time", f.Minutes, f.NoHelp, "min"), end("high", f.HighMin, f.NoHelp, "min"), yes("no-need", f.NoNeed), yes("no-help", f.NoHelp),
					num("dew-point", f.DewPointC, "C"), num("needed-dew-point", f.NeedDewC, "C"), num("outside-dew-point", f.OutsideDew, "C"),
				}, f.Sentence}, err
			},
		},
		{
			name: "warm-first", about: "how long to warm a cold vehicle elsewhere so that it does not sweat",
			screen:  "the way out of the sweat forecast",
			inputs:  numbers(sweat.WarmInputs...),
			example: sweatExample + " --place 15C --place-rh 40",
			run: func(v values) (answer, error) {
				n := v.all(sweat.WarmInputs)
				w, err := sweat.WarmOf(n[0], n[1], n[2], n[3], n[4], n[5], n[6])
				return answer{[]field{
					end("time", w.Hours, w.NoHelp, "h"), end("low", w.LowHours, w.NoHelp, "h"), end("high", w.HighHours, w.NoHelp, "h"),
					num("needed-spot", w.NeedC, "C"), yes("no-need", w.NoNeed), yes("no-help", w.NoHelp),
				}, w.Sentence}, err
			},
		},
		{
			name: "warm-up", about: "when a cold spot reaches the threshold, from its own readings",
			screen: "the temperature gate, after the readings",
			inputs: slices.Concat([]input{
				{key: "reading", about: "minute and temperature of the spot", many: true, least: 1, parts: partsOf(warmup.ReadingInputs)},
				choice("masses", "one mass, skin and body, or what the readings show", false, "auto", "one", "two"),
			}, numbers(warmup.ForecastInputs...)),
			example: "--reading 0min,44.8F --reading 10min,51.2F --reading 20min,55.4F --reading 30min,58.3F --air 72F --threshold 60F",
			run: func(v values) (answer, error) {
				var readings []warmup.Reading
				for _, d := range v.got["reading"] {
					readings = append(readings, warmup.Reading{Minutes: d.nums[0], TempC: d.nums[1]})
				}
				forecast := warmup.Forecast
				switch v.w("masses") {
				case "one":
					forecast = warmup.One
				case "two":
					forecast = warmup.Two
				}
				n := v.all(warmup.ForecastInputs)
				a, err := forecast(readings, n[0], n[1], n[2], n[3])
				fields := []field{yes("there", a.There), yes("forecast", a.Known)}
				if a.Why != "" {
					fields = append(fields, word("why-not", a.Why))
				}
				if a.Known {
					fields = append(fields, num("left", a.LeftMin, "min"), num("low", a.LowMin, "min"), num("high", a.HighMin, "min"),
						num("at", a.HitMin, "min"), num("time-constant", a.TauMin, "min"), num("masses", float64(a.Masses), ""))
					if a.Masses == 2 {
						fields = append(fields, num("skin-time-constant", a.SkinMin, "min"))
					}
				}
				return answer{fields, a.Sentence}, err
			},
		},
		{
			name: "warm-plan", about: "how long a vehicle of a usual time constant takes, before there are readings",
			screen:  "the plan",
			inputs:  numbers(warmup.HitInputs...),
			example: "--start -3C --air 20C --threshold 16C --tau 3.2h",
			run: func(v values) (answer, error) {
				n := v.all(warmup.HitInputs)
				h, err := warmup.HitOf(n[0], n[1], n[2], n[3])
				return answer{[]field{
					end("time", h.Hours, h.Never, "h"), end("low", h.LowHours, h.Never, "h"), end("high", h.HighHours, h.Never, "h"),
				}, h.Sentence}, err
			},
		},
		{
			name: "skin", about: "how fast a bare skin follows the air, and where it settles",
			screen:  "the plan; why a thin panel warms before the vehicle has",
			inputs:  numbers(warmup.PanelInputs...),
			example: "--air 20C --walls 12C",
			run: func(v values) (answer, error) {
				n := v.all(warmup.PanelInputs)
				p, err := warmup.PanelOf(n[0], n[1], n[2], n[3], n[4], n[5], n[6], n[7])
				return answer{[]field{
					num("time-constant", p.TauMin, "min"), num("settles", p.SettlesC, "C"), num("biot", p.Biot, ""), yes("one-lump", p.Lumped),
				}, p.Sentence}, err
			},
		},
		{
			name: "infrared", about: "an infrared reading corrected for emissivity and mirrored heat",
			screen:  "the reading pad, for an infrared instrument",
			inputs:  slices.Concat(numbers(infrared.OfInputs...), []input{choice("on", "what it was pointed at, in place of --emissivity", false, surfaceKeys()...)}),
			example: "--read 60F --mirrored 75F --on paint",
			run: func(v values) (answer, error) {
				n := v.all(infrared.OfInputs)
				if v.given("on") {
					if v.given("emissivity") {
						return answer{}, errors.New("--on and --emissivity are both given; valid is one of them")
					}
					s, ok := infrared.Find(v.w("on"))
					if !ok {
						return answer{}, fmt.Errorf("no surface %q", v.w("on"))
					}
					n[2] = s.Usual()
				}
				r, err := infrared.Of(n[0], n[1], n[2], n[3], n[4], n[5])
				return answer{[]field{
					num("surface", r.TrueC, "C"), num("low", r.LowC, "C"), num("high", r.HighC, "C"), num("shown-too-much", r.OffK, "K"),
					num("by-the-fourth-power", r.BroadbandC, "C"), num("emissivity", r.Emissivity, ""),
				}, r.Sentence}, err
			},
		},
		{
			name: "primer", about: "from when to when primer may be covered",
			screen:  "primer, when its clock starts",
			inputs:  numbers(primer.OfInputs...),
			example: "--minimum 6min --open 60min --sheet 70F --panel 60F",
			run: func(v values) (answer, error) {
				n := v.all(primer.OfInputs)
				p, err := primer.Of(n[0], n[1], n[2], n[3])
				return answer{[]field{
					num("ready", p.ReadyMin, "min"), num("high", p.HighMin, "min"), num("shut", p.ShutMin, "min"),
					yes("too-cold", p.TooCold), yes("no-window", p.NoWindow),
				}, p.Sentence}, err
			},
		},
		{
			name: "flash-off", about: "how long solvent needs to leave a panel",
			screen:  "solvent wipe",
			inputs:  numbers(primer.FlashInputs...),
			example: "--minimum 3min --sheet 20C --panel 12C",
			run: func(v values) (answer, error) {
				n := v.all(primer.FlashInputs)
				f, err := primer.FlashOf(n[0], n[1], n[2])
				return answer{[]field{num("ready", f.ReadyMin, "min"), num("high", f.HighMin, "min")}, f.Sentence}, err
			},
		},
	}
}

const sweatExample = "--coldest 2C --air 18C --rh 65"

func saved(s drying.Saved) answer {
	fields := []field{
		end("without", s.WithoutHours, s.WithoutNever, "h"), end("with", s.WithHours, s.WithNever, "h"), num("gain", s.GainMM, "mm"),
	}
	if !s.WithoutNever && !s.WithNever {
		fields = append(fields, num("saved", s.SavedHours, "h"))
	}
	return answer{fields, s.Sentence}
}

func partsOf(table []limit.Input) []part {
	ps := make([]part, len(table))
	for i, in := range table {
		ps[i] = part{Input: in}
	}
	return ps
}

func surfaceKeys() (keys []string) {
	for _, s := range infrared.Surfaces {
		keys = append(keys, s.Key)
	}
	return keys
}
