package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"
)

// runCompute is the compute command: it runs one science from the shell, in
// the units typed.
//
//	bayhold compute                         the list of sciences
//	bayhold compute NAME --help             its inputs with unit, range and meaning
//	bayhold compute NAME --input 60F ...    the answer; --json for machines
//
// The sciences are rows of a table; nothing here knows one by name.
func runCompute(args []string, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		listSciences(stdout)
		return 0
	}
	switch args[0] {
	case "help", "-h", "-help", "--help":
		listSciences(stdout)
		return 0
	}
	table := sciences()
	i := slices.IndexFunc(table, func(s science) bool { return s.name == args[0] })
	if i < 0 {
		fmt.Fprintf(stderr, "bayhold compute: there is no science %q; 'bayhold compute' lists them\n", args[0])
		return 2
	}
	s := table[i]
	given, asJSON, err := s.parse(args[1:])
	if errors.Is(err, flag.ErrHelp) {
		s.help(stdout)
		return 0
	}
	if err != nil {
		fmt.Fprintf(stderr, "bayhold compute %s: %v\n", s.name, err)
		return 2
	}
	answer, err := s.run(given)
	if err != nil {
		fmt.Fprintf(stderr, "bayhold compute %s: %s\n", s.name, given.text(err.Error()))
		return 1
	}
	if asJSON {
		err = answer.json(stdout, s, given)
	} else {
		err = answer.print(stdout, given)
	}
	if err != nil {
		fmt.Fprintf(stderr, "bayhold compute %s: %v\n", s.name, err)
		return 1
	}
	return 0
}

func listSciences(w io.Writer) {
	fmt.Fprint(w, "The sciences behind the gates, run as 'bayhold compute NAME --input value[unit] ... [--json]'.\nGeneral information: the product's sheet and local rules win.\n\n")
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, s := range sciences() {
		fmt.Fprintf(t, "  %s\t%s\n", s.name, s.about)
	}
	t.Flush()
	fmt.Fprint(w, "\n'bayhold compute NAME --help' lists the inputs of one.\n")
}

// help prints a science's inputs.
func (s science) help(w io.Writer) {
	fmt.Fprintf(w, "bayhold compute %s: %s\nOn the phone: %s.\n\n", s.name, s.about, s.screen)
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, in := range s.inputs {
		fmt.Fprintf(t, "  --%s\t%s\t%s\n", in.key, in.form(), in.meaning())
	}
	fmt.Fprint(t, "  --json\t\tthe answer as JSON\n")
	t.Flush()
	fmt.Fprintf(w, "\nA number without a unit is in the unit shown. Units: %s.\nExample: bayhold compute %s %s\n", unitsOf(s.inputs), s.name, s.example)
}

// parse reads the flags. Nothing is computed from a line that has a mistake.
func (s science) parse(args []string) (values, bool, error) {
	v := values{got: map[string][]datum{}}
	fs := flag.NewFlagSet(s.name, flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	asJSON := fs.Bool("json", false, "")
	var wrong error // in our words: the flag package has its own
	for _, in := range s.inputs {
		set := func(typed string) (err error) {
			defer func() {
				if err != nil && wrong == nil {
					wrong = fmt.Errorf("--%s %s: %w", in.key, typed, err)
				}
			}()
			if len(v.got[in.key]) > 0 && !in.many {
				return errors.New("is given twice; valid is once")
			}
			d, err := in.read(typed)
			if err != nil {
				return err
			}
			v.got[in.key] = append(v.got[in.key], d)
			return nil
		}
		if in.yes {
			fs.BoolFunc(in.key, "", set)
		} else {
			fs.Func(in.key, "", set)
		}
	}
	if err := fs.Parse(args); err != nil {
		if wrong != nil {
			err = wrong
		} else if !errors.Is(err, flag.ErrHelp) {
			err = fmt.Errorf("%w; '--help' lists the inputs", err)
		}
		return values{}, false, err
	}
	if fs.NArg() > 0 {
		return values{}, false, fmt.Errorf("%q is not an input; '--help' lists them", fs.Arg(0))
	}
	var missing []string
	for _, in := range s.inputs {
		if len(v.got[in.key]) > 0 {
			continue
		}
		switch {
		case in.needed():
			missing = append(missing, "--"+in.key+" ("+in.meaning()+")")
		case len(in.parts) == 1 && !in.many:
			v.got[in.key] = []datum{in.usual()}
		}
	}
	if missing != nil {
		return values{}, false, errors.New("missing " + strings.Join(missing, ", "))
	}
	return v, *asJSON, nil
}

// answer is what a science says: named values, best first, and the sentence.
type answer struct {
	fields   []field
	sentence string
}

// field is one named value of an answer: a number with its unit inside the
// science (in metric), a word, a yes or no, or a list of lines. Never stands
// for a time that has no end.
type field struct {
	name  string
	value any
	unit  string
}

type never struct{}

func num(name string, value float64, unit string) field { return field{name, value, unit} }
func word(name, value string) field                     { return field{name, value, ""} }
func yes(name string, value bool) field                 { return field{name, value, ""} }
func list(name string, lines []string) field            { return field{name, lines, ""} }

// end is a time that may have no end.
func end(name string, value float64, isNever bool, unit string) field {
	if isNever {
		return field{name, never{}, unit}
	}
	return num(name, value, unit)
}

// moment is a moment in ms since the Unix epoch.
func moment(name string, ms int64) field { return field{name, time.UnixMilli(ms), ""} }

// print writes the sentence and then the values in the units typed.
func (a answer) print(w io.Writer, v values) error {
	fmt.Fprintf(w, "%s\n\n", v.text(a.sentence))
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, f := range a.fields {
		switch x := f.value.(type) {
		case float64:
			shown, unit := v.typed(x, f.unit)
			fmt.Fprintf(t, "  %s\t%s\n", f.name, strings.TrimSpace(short(shown)+" "+unit))
		case never:
			fmt.Fprintf(t, "  %s\tnever\n", f.name)
		case bool:
			fmt.Fprintf(t, "  %s\t%s\n", f.name, map[bool]string{true: "yes", false: "no"}[x])
		case time.Time:
			fmt.Fprintf(t, "  %s\t%s\n", f.name, x.In(v.reader().zone).Format(time.RFC3339))
		case []string:
			for i, line := range x {
				fmt.Fprintf(t, "  %s %d\t%s\n", f.name, i+1, v.text(line))
			}
		default:
			fmt.Fprintf(t, "  %s\t%s\n", f.name, v.text(fmt.Sprint(x)))
		}
	}
	return t.Flush()
}

// json writes the inputs as typed and as used, and the answer's values in the
// units typed. A time without an end is {"never":true}: JSON has no infinity.
func (a answer) json(w io.Writer, s science, v values) error {
	type number struct {
		Value float64 `json:"value"`
		Unit  string  `json:"unit"`
	}
	fields := map[string]any{}
	for _, f := range a.fields {
		switch x := f.value.(type) {
		case float64:
			shown, unit := v.typed(x, f.unit)
			fields[f.name] = number{shown, unit}
		case never:
			fields[f.name] = map[string]bool{"never": true}
		case time.Time:
			fields[f.name] = x.In(v.reader().zone).Format(time.RFC3339)
		case []string:
			lines := make([]string, len(x))
			for i, line := range x {
				lines[i] = v.text(line)
			}
			fields[f.name] = lines
		case string:
			fields[f.name] = v.text(x)
		default:
			fields[f.name] = x
		}
	}
	inputs := map[string]any{}
	for _, in := range s.inputs {
		var as []any
		for _, d := range v.got[in.key] {
			as = append(as, d.json(in))
		}
		switch {
		case in.many:
			inputs[in.key] = as
		case len(as) == 1:
			inputs[in.key] = as[0]
		}
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(struct {
		Science  string         `json:"science"`
		Inputs   map[string]any `json:"inputs"`
		Answer   map[string]any `json:"answer"`
		Sentence string         `json:"sentence"`
	}{s.name, inputs, fields, v.text(a.sentence)})
}
