package main

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"

	"bayhold/checklist/limit"
)

// science is one row of the table: what it is, which screen of the phone shows
// it, what it takes, and how it is run.
type science struct {
	name, about, screen string
	inputs              []input
	example             string
	run                 func(values) (answer, error)
}

// input is one flag. It has one part, or several that are typed with commas:
// --reading 15min,38F. An input of many may be given again and again.
type input struct {
	key   string
	about string // left out where the part says it all
	parts []part
	many  bool
	least int  // of an input of many: how often it must be given
	yes   bool // a flag without a value
	when  bool // a moment, RFC 3339
}

// part is one value: a number with its range, a word out of a list, or a free
// name.
type part struct {
	limit.Input
	words []string
	name  bool
}

// numbers makes an input of each row of a science's table.
func numbers(table ...limit.Input) []input {
	ins := make([]input, len(table))
	for i, l := range table {
		ins[i] = input{key: l.Key, parts: []part{{Input: l}}}
	}
	return ins
}

// choice is an input that takes one of the words; the first is usual unless it
// must be given.
func choice(key, about string, must bool, words ...string) input {
	return input{key: key, about: about, parts: []part{{Input: limit.Input{Name: about, Free: !must}, words: words}}}
}

func flagged(key, about string) input {
	return input{key: key, about: about, yes: true, parts: []part{{Input: limit.Input{Name: about, Free: true}}}}
}

// datum is one value as typed and as a science takes it.
type datum struct {
	typed string
	units []string  // as typed, by part
	nums  []float64 // in the part's own unit
	words []string
	when  time.Time
	usual bool // nobody typed it
}

func (in input) needed() bool {
	if in.many {
		return in.least > 0
	}
	return !in.yes && !in.parts[0].Free
}

func (in input) usual() datum {
	if in.when {
		return datum{usual: true, when: time.Now().Truncate(time.Second)}
	}
	d := datum{usual: true, units: []string{""}, nums: []float64{in.parts[0].Usual}, words: []string{""}}
	if w := in.parts[0].words; len(w) > 0 {
		d.words[0] = w[0]
	}
	return d
}

// read takes what was typed. Numbers are checked against their range in the
// unit typed, so that the refusal speaks the typist's language.
func (in input) read(typed string) (datum, error) {
	d := datum{typed: typed}
	if in.when {
		at, err := time.Parse(time.RFC3339, typed)
		if err != nil {
			return d, errors.New("is not a moment; valid is like 2026-03-11T14:30:00+01:00")
		}
		d.when = at
		return d, nil
	}
	if in.yes {
		switch typed {
		case "true", "yes":
			d.nums = []float64{1}
		case "false", "no":
			d.nums = []float64{0}
		default:
			return d, errors.New("takes no value, or yes or no")
		}
		return d, nil
	}
	pieces := []string{typed}
	if len(in.parts) > 1 {
		pieces = strings.Split(typed, ",")
	}
	least := len(in.parts)
	for least > 1 && in.parts[least-1].Free {
		least--
	}
	if len(pieces) < least || len(pieces) > len(in.parts) {
		return d, fmt.Errorf("has %d values; valid is %s", len(pieces), in.form())
	}
	for i, p := range in.parts {
		if i >= len(pieces) {
			d.units, d.nums, d.words = append(d.units, ""), append(d.nums, p.Usual), append(d.words, "")
			continue
		}
		n, unit, word, err := p.read(strings.TrimSpace(pieces[i]))
		if err != nil {
			return d, err
		}
		d.units, d.nums, d.words = append(d.units, unit), append(d.nums, n), append(d.words, word)
	}
	return d, nil
}

func (p part) read(typed string) (n float64, unit, word string, err error) {
	switch {
	case p.name:
		if typed == "" {
			return 0, "", "", errors.New("has an empty name")
		}
		return 0, "", typed, nil
	case len(p.words) > 0:
		for i, w := range p.words {
			if strings.EqualFold(w, typed) {
				return float64(i), "", w, nil
			}
		}
		return 0, "", "", fmt.Errorf("is none of its words; valid is %s", strings.Join(p.words, ", "))
	}
	n, unit, err = measure(typed, p.Unit)
	if err != nil {
		return 0, "", "", fmt.Errorf("%s: %w; valid is %s", p.Name, err, p.valid(p.Unit))
	}
	if p.Check(n) != nil {
		return 0, "", "", fmt.Errorf("%s %s is out of range; valid is %s", p.Name, typed, p.valid(unit))
	}
	return n, unit, "", nil
}

// valid is the part's range in that unit.
func (p part) valid(unit string) string {
	return strings.TrimSpace(short(inUnit(p.Low, p.Unit, unit)) + " to " + short(inUnit(p.High, p.Unit, unit)) + " " + unit)
}

// form is how the value is typed.
func (in input) form() string {
	switch {
	case in.when:
		return "TIME"
	case in.yes:
		return ""
	}
	var forms []string
	for _, p := range in.parts {
		f := p.Unit
		switch {
		case p.name:
			f = "NAME"
		case len(p.words) > 0:
			f = strings.Join(p.words, "|")
		case f == "":
			f = "N"
		}
		if p.Free && len(in.parts) > 1 {
			f = "[" + f + "]"
		}
		forms = append(forms, f)
	}
	return strings.Join(forms, ",")
}

// meaning is the name and range of each part.
func (in input) meaning() string {
	var says []string
	if in.about != "" {
		says = append(says, in.about)
	}
	for _, p := range in.parts {
		switch {
		case in.yes || in.when || p.name:
		case len(p.words) > 0:
			if in.about == "" {
				says = append(says, p.Name)
			}
			if p.Free && len(in.parts) == 1 {
				says = append(says, "usually "+p.words[0])
			}
		default:
			s := p.Name + " " + p.valid(p.Unit)
			switch {
			case p.Free && p.Usual == 0:
				s += ", may be left out"
			case p.Free:
				s += ", usually " + strings.TrimSpace(short(p.Usual)+" "+p.Unit)
			}
			says = append(says, s)
		}
	}
	s := strings.Join(says, "; ")
	switch {
	case in.many && in.least > 1:
		s += fmt.Sprintf("; at least %d times", in.least)
	case in.many:
		s += "; may be given again"
	}
	return s
}

// values are the inputs of one run.
type values struct{ got map[string][]datum }

// n is a number in the science's unit.
func (v values) n(key string) float64 { return v.got[key][0].nums[0] }

// w is a word.
func (v values) w(key string) string { return v.got[key][0].words[0] }

// is says whether a flag was given.
func (v values) is(key string) bool {
	d := v.got[key]
	return len(d) > 0 && len(d[0].nums) > 0 && d[0].nums[0] == 1
}

// given says whether a value was typed.
func (v values) given(key string) bool { return len(v.got[key]) > 0 && !v.got[key][0].usual }

// ms is a moment in ms since the Unix epoch.
func (v values) ms(key string) int64 { return v.got[key][0].when.UnixMilli() }

// uses says whether any value was typed in one of the units.
func (v values) uses(units string) bool {
	for _, data := range v.got {
		for _, d := range data {
			for _, u := range d.units {
				if u != "" && strings.Contains(" "+units+" ", " "+u+" ") {
					return true
				}
			}
		}
	}
	return false
}

// reader is who reads the answer: in the units and the zone typed.
func (v values) reader() reader {
	r := reader{zone: time.UTC, fahrenheit: v.uses("F"), now: time.Unix(0, 0)}
	for _, data := range v.got {
		for _, d := range data {
			if !d.when.IsZero() {
				r.zone, r.now = d.when.Location(), d.when
			}
		}
	}
	return r
}

var millimetres = regexp.MustCompile(`(-?\d+(?:\.\d+)?) mm\b`)

// text puts a science's sentence into the units and the zone typed.
func (v values) text(sentence string) string {
	s := v.reader().marks(sentence)
	if !v.uses("in ft mil") {
		return s
	}
	return millimetres.ReplaceAllStringFunc(s, func(m string) string {
		n, _, err := measure(strings.TrimSuffix(m, " mm"), "mm")
		if err != nil {
			return m
		}
		return short(n/25.4) + " in"
	})
}

// typed is a value of a science in the unit of its kind that was typed.
func (v values) typed(n float64, unit string) (float64, string) {
	to := unit
	switch unit {
	case "C", "K":
		if v.uses("F") {
			to = "F"
		}
	case "mm", "m", "um":
		if v.uses("in ft mil") {
			to = map[string]string{"mm": "in", "m": "ft", "um": "mil"}[unit]
		}
	}
	return inUnit(n, unit, to), to
}

// json is a value as typed and as used.
func (d datum) json(in input) any {
	if in.when {
		return d.when.Format(time.RFC3339)
	}
	if in.yes {
		return d.nums[0] == 1
	}
	type value struct {
		Typed string  `json:"typed,omitempty"`
		Value float64 `json:"value"`
		Unit  string  `json:"unit,omitempty"`
		Usual bool    `json:"usual,omitempty"`
	}
	if len(in.parts) == 1 {
		if len(in.parts[0].words) > 0 || in.parts[0].name {
			return d.words[0]
		}
		return value{d.typed, d.nums[0], in.parts[0].Unit, d.usual}
	}
	as := make([]any, len(in.parts))
	for i, p := range in.parts {
		if p.name || len(p.words) > 0 {
			as[i] = d.words[i]
		} else {
			as[i] = value{Value: d.nums[i], Unit: p.Unit}
		}
	}
	return map[string]any{"typed": d.typed, "values": as}
}
