package pwa_test

import (
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"bayhold/checklist"
	"bayhold/checklist/film"
	"bayhold/checklist/learn"
	"bayhold/checklist/removal"
	"bayhold/checklist/stretch"
	"bayhold/pwa"
)

// catalogue reads the rows of app/spanish.txt and the line that each stands on.
func catalogue(t testing.TB) (rows map[string]string, at map[string]int) {
	t.Helper()
	content, err := fs.ReadFile(pwa.Files, "spanish.txt")
	if err != nil {
		t.Fatal(err)
	}
	rows, at = map[string]string{}, map[string]int{}
	for i, line := range strings.Split(string(content), "\n") {
		if line == "" || line[0] == '#' {
			continue
		}
		english, spanish, ok := strings.Cut(line, " = ")
		switch {
		case !ok || english == "" || spanish == "":
			t.Errorf("spanish.txt:%d: %q is no row 'English = Spanish'", i+1, line)
		case rows[english] != "":
			t.Errorf("spanish.txt:%d: %q stands already on line %d", i+1, english, at[english])
		}
		rows[english], at[english] = spanish, i+1
	}
	return rows, at
}

// tables are where words stand as data and are put into the tongue where they
// are shown: a table with keys in it cannot be read through words().
var tables = map[string]func(s said) bool{
	"main.js": func(s said) bool { return s.prop == "title" },
	"views/dock.js": func(s said) bool {
		return s.call == "[" && (oneOf(s.prop, "blade-line keep-clear gap-cut") || s.nth == 1)
	},
	"views/evidence.js":   func(s said) bool { return s.call == "[" },
	"views/forms.js":      ofForms,
	"views/inspection.js": func(s said) bool { return s.call == "[" && s.nth == 1 },
	"views/pad.js":        func(s said) bool { return s.prop == "label" },
	"views/panel.js":      func(s said) bool { return s.call == "[" && s.nth == 2 },
	"views/pins.js":       func(s said) bool { return s.call == "[" },
	"views/refuse.js":     func(s said) bool { return s.call == "[" && s.nth == 1 },
	"views/units.js":      func(s said) bool { return s.text == "months" },
	"views/vehicles.js":   ofVehicles,
	"views/words.js":      func(s said) bool { return s.call == "[" && (s.nth == 1 || s.prop == "") && s.text != "contact" },
}

// ofForms: titles, questions, names of sorts and the words of choices; and the
// keys of choices that the core hands on as words of a line.
func ofForms(s said) bool {
	if s.call == "[" {
		return s.nth == 1 || strings.Contains(s.text, " ") || oneOf(s.text, "airflow water reach sight side")
	}
	return oneOf(s.prop, "title ask skip") || s.text != "" && unicode.IsUpper(rune(s.text[0])) && s.prop != "shape"
}

// ofVehicles: names of vehicles and features, of panels and of spots.
func ofVehicles(s said) bool {
	return s.prop == "name" || s.call == "panel" && s.nth == 1 || s.call == "[" && s.nth == 0
}

func oneOf(word, words string) bool { return slices.Contains(strings.Fields(words), word) }

// aSentence begins with a capital and has a second word.
var aSentence = regexp.MustCompile(`^\p{Lu}\p{Ll}*[,:;]? .*\p{Ll}{2}`)

// unread are strings that look like sentences and that nobody reads on a screen.
var unread = []string{"Bearer "}

// messages are the English texts of the app by where they are said.
func messages(t testing.TB) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := fs.WalkDir(os.DirFS("app"), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(name) != ".js" || strings.HasPrefix(name, "vendor/") || strings.HasSuffix(name, "/parts.js") || strings.HasSuffix(name, "/samples.js") || name == "views/bodies.js" || name == "owner.js" { // the owner's page has its own languages
			return err
		}
		source, err := os.ReadFile("app/" + name)
		if err != nil {
			return err
		}
		for _, s := range spoken(name, string(source)) {
			where := fmt.Sprintf("%s:%d", name, s.line)
			table := tables[name] != nil && s.way == "" && tables[name](s)
			screen := strings.HasPrefix(name, "views/") || name == "main.js"
			switch {
			case strings.IndexFunc(s.text, unicode.IsLetter) < 0 || s.way == "key":
			case s.way != "" || table || !screen && aSentence.MatchString(s.text) && !slices.Contains(unread, s.text):
				if out[s.text] == "" {
					out[s.text] = where
				}
			case screen && name != "views/care.js" && aSentence.MatchString(s.text): // care.js has its own languages
				t.Errorf("%s: %q passes no catalogue: write it as t`...` (tongue.js tells how)", where, s.text)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

var filled = regexp.MustCompile(`\{[~#]?(\d)\}`)

// coreMessages adds what the core, the lead's package and the server say.
func coreMessages(t testing.TB, out map[string]string) {
	t.Helper()
	add := func(where, text string) {
		if _, is := out[text]; !is && strings.IndexFunc(text, unicode.IsLetter) >= 0 {
			out[text] = where
		}
	}
	for name, says := range core {
		for _, s := range sentencesOf(t, "../"+name) {
			if !says(s) {
				continue
			}
			text := s.text
			switch { // what is put between, behind or before something else
			case strings.HasPrefix(text, " ") && strings.HasSuffix(text, " "):
				text = "{1}" + text + "{2}"
			case strings.HasSuffix(text, " "):
				text += "{1}"
			case strings.HasPrefix(text, " ") && unicode.IsUpper(rune(text[1])):
				text = text[1:]
			case strings.HasPrefix(text, " ") || strings.HasPrefix(text, ", "):
				text = "{1}" + text
			}
			add(fmt.Sprintf("%s:%d", name, s.line), text)
		}
	}
	for _, r := range checklist.Routes {
		add("checklist/route.go", r.Name)
		for _, st := range r.Stages {
			add("checklist/route.go", st.Name)
			add("checklist/route.go", st.Caution)
			add("checklist/route.go", strings.ToUpper(st.Key[:1])+strings.ReplaceAll(st.Key[1:], "-", " "))
		}
	}
	for _, r := range checklist.Setbacks {
		add("checklist/setback.go", r.Name)
		add("checklist/setback.go", r.Said)
		add("checklist/setback.go", r.Redo)
	}
	for _, r := range checklist.RuleTable {
		add("checklist/rules.go", r.What)
		add("checklist/rules.go", r.Source)
	}
	for _, q := range checklist.Questions {
		add("checklist/inspection.go", q.Text)
		for _, c := range q.Choices {
			add("checklist/inspection.go", c)
		}
	}
	for _, name := range slices.Concat(stretch.VerdictNames[:], stretch.PrimerNames[:]) {
		add("checklist/stretch", name)
	}
	for _, c := range learn.Causes {
		add("checklist/learn", c.Name)
	}
	for _, l := range learn.Looks {
		for _, text := range []string{l.Name, l.One, l.Many, l.Fails} {
			add("checklist/learn", text)
		}
	}
	for _, f := range learn.Factors {
		add("checklist/learn", f.Name)
	}
	for _, b := range learn.Bands {
		add("checklist/learn", b.Name)
	}
	for _, f := range stretch.Families {
		add("checklist/stretch", f.Name)
	}
	for _, m := range removal.Methods {
		add("checklist/removal", m.Film)
		for _, each := range strings.SplitAfter(m.Expect, ". ") {
			add("checklist/removal", strings.TrimSpace(each))
		}
	}
	for _, key := range slices.Concat(film.FamilyKeys[:], handedOn) {
		add("the schema of lines", key)
	}
}

// handedOn are words that a line keeps, and that the core hands on as they are.
var handedOn = strings.Fields("channel dome rivets seam gap keep-clear flat surface accepted declined repaired redone sound chipped peeled " +
	"factory baked air-dried thick unknown nothing bubbles paint-off stretch relief-cut inlay bare installer owner driver lower upper")

// Every message has its Spanish, every row is said somewhere, and both sides
// fill in the same.
func TestSpanishIsComplete(t *testing.T) {
	rows, at := catalogue(t)
	said := messages(t)
	coreMessages(t, said)
	said["The bay checklist of a vehicle-graphics shop."] = "manifest.webmanifest"
	for _, english := range slices.Sorted(maps.Keys(said)) {
		if rows[english] == "" {
			t.Errorf("%s: %q has no Spanish", said[english], english)
		}
	}
	for english, spanish := range rows {
		if said[english] == "" {
			t.Errorf("spanish.txt:%d: nothing says %q", at[english], english)
		}
		fills := func(s string) (list []string) {
			for _, m := range filled.FindAllStringSubmatch(s, -1) {
				list = append(list, m[1])
			}
			slices.Sort(list)
			return slices.Compact(list)
		}
		if !slices.Equal(fills(english), fills(spanish)) {
			t.Errorf("spanish.txt:%d: %q fills in otherwise than %q", at[english], spanish, english)
		}
	}
}
