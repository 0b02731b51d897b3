package line_test

import (
	"bytes"
	"encoding/hex"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"reflect"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"

	public "github.com/fxamacker/cbor/v2"
	"pgregory.net/rapid"
)

// bodies is one zero body of every kind that has one.
var bodies = []checklist.Body{
	checklist.ShopSet{}, checklist.PlaceAdd{}, checklist.PersonAdd{}, checklist.AirShared{}, checklist.RulesSet{},
	checklist.ShopHours{}, checklist.Instrument{}, checklist.ClimateBlock{}, checklist.ClimateReading{}, checklist.ClimateSpan{}, checklist.PlaceEvent{},
	checklist.JobOpen{}, checklist.JobMove{}, checklist.JobClose{}, checklist.Tick{}, checklist.Reading{},
	checklist.Setback{}, checklist.Evidence{}, checklist.Finding{}, checklist.FindingAnswer{}, checklist.Sign{},
	checklist.Waiver{}, checklist.Photo{}, checklist.Voice{}, checklist.Note{}, checklist.Adopt{}, checklist.TimeAdopt{}, checklist.Forget{},
	checklist.FilmRoll{}, checklist.Feature{}, checklist.Heat{}, checklist.Trial{}, checklist.Paint{}, checklist.Patch{},
	checklist.Asked{}, checklist.JobRules{}, checklist.StepsSet{}, checklist.OwnerLink{},
}

// keys are the map keys that the comments of package checklist promise:
// "From, To int64 // from, to" gives From -> from and To -> to.
func keys(t *testing.T) map[string]map[string]string {
	file, err := parser.ParseFile(token.NewFileSet(), "../body.go", nil, parser.ParseComments)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]map[string]string{}
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.TypeSpec)
		if !ok {
			return true
		}
		s, ok := spec.Type.(*ast.StructType)
		if !ok {
			return true
		}
		m := map[string]string{}
		for _, f := range s.Fields.List {
			if f.Comment == nil {
				continue
			}
			said, _, _ := strings.Cut(f.Comment.Text(), ":")
			words := strings.Split(strings.TrimSpace(said), ", ")
			for i, name := range f.Names {
				if i < len(words) {
					m[name.Name] = strings.TrimSpace(words[i])
				}
			}
		}
		out[spec.Name.Name] = m
		return false
	})
	return out
}

// plain turns a body into what a CBOR library takes, by the promised keys.
func plain(t *rapid.T, keys map[string]map[string]string, v reflect.Value) any {
	switch x := v.Interface().(type) {
	case checklist.ID:
		return logbook.ID(x).String()
	case checklist.Range:
		return []int32{x.Least, x.Most, x.Last}
	case []byte:
		return x
	case map[string]int64:
		return x
	}
	switch v.Kind() {
	case reflect.Slice:
		out := []any{}
		for i := range v.Len() {
			out = append(out, plain(t, keys, v.Index(i)))
		}
		return out
	case reflect.Struct:
		m := map[string]any{}
		for i := range v.NumField() {
			name := v.Type().Field(i).Name
			if id, ok := v.Field(i).Interface().(checklist.LineID); ok {
				m["writer"], m["seq"] = logbook.ID(id.Writer).String(), id.Seq
				continue
			}
			if v.Field(i).IsZero() || v.Field(i).Kind() == reflect.Slice && v.Field(i).Len() == 0 {
				continue
			}
			key := keys[v.Type().Name()][name]
			if key == "" {
				t.Fatalf("body.go names no key for %s.%s", v.Type().Name(), name)
			}
			m[key] = plain(t, keys, v.Field(i))
		}
		return m
	}
	return v.Interface()
}

// fill draws a value for every field; texts are never blank, so that nothing
// required is missing.
func fill(t *rapid.T, v reflect.Value) {
	switch v.Interface().(type) {
	case checklist.ID:
		var id checklist.ID
		copy(id[:], rapid.SliceOfN(rapid.ByteRange(1, 255), 16, 16).Draw(t, "id"))
		v.Set(reflect.ValueOf(id))
		return
	case []byte:
		v.SetBytes(rapid.SliceOfN(rapid.Byte(), 1, 40).Draw(t, "bytes"))
		return
	case map[string]int64:
		v.Set(reflect.ValueOf(rapid.MapOfN(rapid.StringMatching(`[a-z]{1,12}`), rapid.Int64(), 1, 30).Draw(t, "values")))
		return
	case checklist.LineID:
		v.FieldByName("Seq").SetUint(rapid.Uint64Range(1, 1<<62).Draw(t, "seq"))
		fill(t, v.FieldByName("Writer"))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString("x" + rapid.String().Draw(t, "text"))
	case reflect.Int64:
		v.SetInt(rapid.Int64().Draw(t, "n"))
	case reflect.Int32:
		v.SetInt(int64(rapid.Int32().Draw(t, "milli")))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, "bool"))
	case reflect.Slice:
		n := rapid.IntRange(1, 5).Draw(t, "many")
		v.Set(reflect.MakeSlice(v.Type(), n, n))
		for i := range n {
			fill(t, v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			fill(t, v.Field(i))
		}
	default:
		t.Fatalf("a field of a kind that the test does not draw: %v", v.Type())
	}
}

// Every body of every kind survives, and a public CBOR library in core
// deterministic mode makes the same bytes of it by the keys that package
// checklist promises.
func TestEveryKindAgainstPublicLibrary(t *testing.T) {
	keys := keys(t)
	coreDet, err := public.CoreDetEncOptions().EncMode()
	if err != nil {
		t.Fatal(err)
	}
	var reader line.Reader // one for all: nothing of a body stays for the next
	for _, zero := range bodies {
		t.Run(zero.Kind(), func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				v := reflect.New(reflect.TypeOf(zero)).Elem()
				fill(t, v)
				body := v.Interface().(checklist.Body)
				ours := line.Encode(body)
				theirs, err := coreDet.Marshal(plain(t, keys, v))
				if err != nil {
					t.Fatal(err)
				}
				if !bytes.Equal(ours, theirs) {
					t.Fatalf("%#v\nours   %x\ntheirs %x", body, ours, theirs)
				}
				back, err := line.Decode(body.Kind(), ours)
				if err != nil || !reflect.DeepEqual(back, body) {
					t.Fatalf("%#v\ncame back as %#v (%v)", body, back, err)
				}
				entry := logbook.Entry{Kind: body.Kind(), Body: ours}
				one, err1 := line.Of(entry, 1, checklist.Span{})
				if _, err := reader.Of(logbook.Entry{Kind: "tick", Body: line.Nothing}, 1, checklist.Span{}); err == nil {
					t.Fatal("a tick that says nothing is taken")
				}
				again, err2 := reader.Of(entry, 1, checklist.Span{})
				if err1 != nil || err2 != nil || !reflect.DeepEqual(one, again) {
					t.Fatalf("alone %#v (%v)\nafter others %#v (%v)", one, err1, again, err2)
				}
			})
		})
	}
}

// Every kind of package checklist has its row, and only those (and strike).
func TestKindsComplete(t *testing.T) {
	have := map[string]bool{"strike": true}
	for _, b := range bodies {
		have[b.Kind()] = true
		k, ok := line.Lookup(b.Kind())
		if !ok || k.Writers == 0 {
			t.Errorf("%s has no row or nobody may write it", b.Kind())
		}
		if _, salted := reflect.TypeOf(b).FieldByName("Salt"); salted && k.Personal == "" {
			t.Errorf("%s has a salt, and nothing makes it personal", b.Kind())
		}
	}
	for _, k := range line.Kinds {
		if !have[k.Name] {
			t.Errorf("row %s is no kind of package checklist", k.Name)
		}
	}
}

// The bytes of the package comment.
func TestExample(t *testing.T) {
	got := hex.EncodeToString(line.Encode(checklist.Tick{Stage: "wash", Answer: "done"}))
	if want := "a2" + "657374616765" + "6477617368" + "66616e73776572" + "64646f6e65"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

func enc(t *testing.T, v any) []byte {
	t.Helper()
	m, _ := public.CoreDetEncOptions().EncMode()
	b, err := m.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

type m = map[string]any

func TestVersions(t *testing.T) {
	for name, v := range map[string]struct {
		kind  string
		body  any
		isNil bool
		err   string
	}{
		"a kind of a newer version":                     {"heat.pass", m{"n": 1}, true, ""},
		"a key of a newer version":                      {"tick", m{"stage": "wash", "answer": "done", "glove": true}, false, ""},
		"a required key gone and a new one there":       {"tick", m{"stages": []string{"wash"}, "answer": "done"}, true, ""},
		"a required key gone":                           {"tick", m{"answer": "done"}, false, "This line lacks its stage (tick)."},
		"an empty name":                                 {"shop.set", m{"name": "", "units": "C", "zone": "UTC"}, false, "The shop needs a name."},
		"a name of blanks":                              {"person.add", m{"name": " \t ", "initials": "A", "role": "crew", "person": id(1).String()}, false, "The person needs a name."},
		"a reading without its place":                   {"reading", m{"values": []m{{"surface": 12000}}}, false, "Say at which spot this was read."},
		"a reading without a value":                     {"reading", m{"instrument": "contact"}, false, "A reading needs its spot and its number."},
		"no reading, and said so":                       {"reading", m{"answer": "not-measured"}, false, ""},
		"a key with a value of another type":            {"tick", m{"stage": 3, "answer": "done"}, false, "tick.stage: "},
		"the same from a newer version is still wrong":  {"tick", m{"stage": 3, "answer": "done", "glove": true}, false, "tick.stage: "},
		"an id that is none":                            {"job.move", m{"place": "bay 4", "wet": "no"}, false, "job.move.place: "},
		"a temperature past 32 bits":                    {"climate.reading", m{"air": int64(1) << 31}, false, "climate.reading.air: "},
		"a range of two numbers":                        {"climate.block", m{"instrument": "bay4", "air": []int{1, 2}}, false, "climate.block.air: "},
		"more panels than a vehicle has":                {"job.open", m{"label": "V5", "route": "r", "panels": make([]m, 201)}, false, "job.open.panels: "},
		"a body that is no map":                         {"tick", []int{1}, false, "tick: "},
		"a strike says nothing else, whatever it holds": {"strike", m{}, true, ""},
	} {
		t.Run(name, func(t *testing.T) {
			b, err := line.Decode(v.kind, enc(t, v.body))
			switch {
			case v.err == "" && err != nil:
				t.Fatal(err)
			case v.err != "" && (err == nil || !strings.HasPrefix(err.Error(), v.err)):
				t.Fatalf("%#v, %v; want %q", b, err, v.err)
			case v.err == "" && (b == nil) != v.isNil:
				t.Fatalf("%#v", b)
			}
		})
	}
}

func id(n byte) logbook.ID { return logbook.ID{15: n} }

// A hand-written line may name things instead of their ids, and nothing in it
// is passed over.
func TestResolveNames(t *testing.T) {
	named := func(name string) checklist.ID { return checklist.ID(logbook.Named(name)) }
	salt := "AAECAwQFBgcICQoLDA0ODw" // base64url of 0..15
	got, err := line.ResolveNames("note", enc(t, m{"text": "x", "salt": salt}), named)
	if err != nil {
		t.Fatal(err)
	}
	b, err := line.Decode("note", got)
	if want := (checklist.Note{Text: "x", Salt: []byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15}}); err != nil || !reflect.DeepEqual(b, want) {
		t.Errorf("%#v, %v", b, err)
	}
	got, err = line.ResolveNames("air.shared", enc(t, m{"places": []string{"bay 4", id(5).String()}}), named)
	if err != nil {
		t.Fatal(err)
	}
	b, err = line.Decode("air.shared", got)
	if want := (checklist.AirShared{Places: []checklist.ID{named("bay 4"), checklist.ID(id(5))}}); err != nil || !reflect.DeepEqual(b, want) {
		t.Errorf("%#v, %v", b, err)
	}
	for _, v := range []struct {
		kind string
		body any
		want string
	}{
		{"tick", m{"stage": "wash", "answer": "done", "pannel": "roof"}, "pannel"},
		{"job.open", m{"label": "V5", "route": "r", "spots": []m{{"id": "1", "name": "sill", "zon": "lower"}}}, "zon"},
		{"note", m{"text": "x", "salt": "no*base64"}, "salt"},
		{"note", m{"text": "x", "salt": "A"}, "salt"},
	} {
		var bad *line.Malformed
		if _, err := line.ResolveNames(v.kind, enc(t, v.body), named); !errors.As(err, &bad) || bad.Field != v.want {
			t.Errorf("%s %v: %v, want one about %s", v.kind, v.body, err, v.want)
		}
	}
	if b, err := line.ResolveNames("heat.pass", []byte{0xa0}, named); err != nil || !bytes.Equal(b, []byte{0xa0}) {
		t.Error("a kind of a newer version did not pass:", b, err)
	}
}

// Whatever bytes come, Decode answers; and what it takes, it writes again in
// a form that decodes to the same body.
func FuzzDecode(f *testing.F) {
	for i, k := range line.Kinds {
		f.Add(byte(i), []byte{0xa0})
		if k.Name == "tick" {
			f.Add(byte(i), line.Encode(checklist.Tick{Stage: "wash", Answer: "done", At: 12}))
		}
		if k.Name == "job.open" {
			f.Add(byte(i), line.Encode(checklist.JobOpen{Label: "V5", Route: "r", Panels: []checklist.Panel{{ID: "a", Name: "b"}}}))
		}
	}
	f.Fuzz(func(t *testing.T, kind byte, body []byte) {
		k := line.Kinds[int(kind)%len(line.Kinds)]
		b, err := line.Decode(k.Name, body)
		if err != nil || b == nil {
			return
		}
		again, err := line.Decode(k.Name, line.Encode(b))
		if err != nil || !reflect.DeepEqual(again, b) {
			t.Fatalf("%#v\nagain  %#v (%v)", b, again, err)
		}
	})
}
