package line_test

import (
	"bytes"
	"reflect"
	"slices"
	"strings"
	"testing"

	public "github.com/fxamacker/cbor/v2"
	"pgregory.net/rapid"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// Whatever keys go from a body, and how often: those that were texts say
// 'erased', the others are not there, all the rest is as it was, in the one form
// that an entry has; and the hash is that of the whole entry. A public CBOR
// library reads the bodies.
func TestErase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := func(name string) string { return rapid.StringN(1, 20, 60).Draw(t, name) }
		b := checklist.JobOpen{Label: text("label"), Customer: text("customer"), Plate: text("plate"), Route: "van", Promise: 7,
			Panels: []checklist.Panel{{ID: "left", Name: "left"}}}
		e := logbook.Entry{Log: logbook.Log{Class: 'j', ID: logbook.Named("V1")}, Writer: logbook.Named("A"), Seq: 1, Kind: b.Kind(),
			Body: line.Salted(b, bytes.Repeat([]byte{3}, 16)), Strikes: []logbook.Ref{{Writer: logbook.Named("B"), Seq: 2}}}
		whole := e.Append(nil)
		keys := []string{"label", "customer", "plate", "promise", "salt", "vin", "panels"}
		gone := rapid.SliceOfNDistinct(rapid.SampledFrom(keys), 0, len(keys), rapid.ID[string]).Draw(t, "gone")
		left := line.Erase(whole, strings.Join(gone, " "))
		if again := line.Erase(left, strings.Join(gone, " ")); !bytes.Equal(again, left) {
			t.Fatalf("erased again it is %x, before %x", again, left)
		}
		sum, inner, ok := logbook.Split(left)
		if !ok || sum != logbook.Sum(whole) {
			t.Fatalf("its hash is %x", sum)
		}
		got, err := logbook.Decode(left)
		if err != nil || !bytes.Equal(got.Append(nil), inner) {
			t.Fatalf("%x is not in the one form: %v", inner, err)
		}
		var was, is map[string]any
		if err := public.Unmarshal(e.Body, &was); err != nil {
			t.Fatal(err)
		}
		if err := public.Unmarshal(got.Body, &is); err != nil {
			t.Fatal(err)
		}
		for key, v := range was {
			_, isText := v.(string)
			switch now, there := is[key]; {
			case !slices.Contains(gone, key):
				if !reflect.DeepEqual(v, now) {
					t.Fatalf("%s was %v and is %v", key, v, now)
				}
			case isText && now != "erased", !isText && there:
				t.Fatalf("%s went and is %v", key, now)
			}
			delete(is, key)
		}
		if len(is) > 0 {
			t.Fatalf("new: %v", is)
		}
		got.Body = e.Body
		if !bytes.Equal(got.Append(nil), whole) {
			t.Fatal("more than the body changed")
		}
	})
}

// A body that tells of people carries the random bytes, once, and still reads; one
// that does not is as long as ever.
func TestSalted(t *testing.T) {
	random := bytes.Repeat([]byte{0xab}, 16)
	for _, c := range []struct {
		b      checklist.Body
		salted bool
	}{
		{checklist.JobOpen{Label: "V5", Route: "van"}, true},
		{checklist.PersonAdd{Person: checklist.ID{1}, Name: "Jon", Initials: "J", Role: "crew"}, true},
		{checklist.Note{Text: "x"}, true},
		{checklist.Sign{What: "hand-over", As: "owner", Name: "x", Salt: random}, true},
		{checklist.Tick{Stage: "wash", Answer: "done"}, false},
		{checklist.Tick{Stage: "wash", Answer: "done", Note: "x"}, true},
		{checklist.JobClose{How: "handed-over"}, false},
	} {
		b := line.Salted(c.b, random)
		if n := bytes.Count(b, random); (n == 1) != c.salted || n > 1 {
			t.Errorf("%s %+v: random bytes stand in it %d times", c.b.Kind(), c.b, n)
		}
		if got, err := line.Decode(c.b.Kind(), b); err != nil || got == nil {
			t.Errorf("%s: %v", c.b.Kind(), err)
		}
		if !c.salted && !bytes.Equal(b, line.Encode(c.b)) {
			t.Errorf("%s is encoded otherwise", c.b.Kind())
		}
	}
}
