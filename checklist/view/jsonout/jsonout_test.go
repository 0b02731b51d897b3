package jsonout_test

import (
	"encoding/json"
	"reflect"
	"testing"

	"bayhold/checklist/view/jsonout"

	"pgregory.net/rapid"
)

func values(depth int) *rapid.Generator[any] {
	leaf := []*rapid.Generator[any]{
		rapid.Int64().AsAny(), rapid.Bool().AsAny(), rapid.Just[any](nil), rapid.String().AsAny(),
		rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) }).AsAny(),
	}
	if depth == 0 {
		return rapid.OneOf(leaf...)
	}
	return rapid.OneOf(append(leaf,
		rapid.SliceOfN(values(depth-1), 0, 6).AsAny(),
		rapid.MapOfN(rapid.String(), values(depth-1), 0, 6).AsAny())...)
}

func write(w *jsonout.Writer, v any) {
	switch x := v.(type) {
	case nil:
		w.Null()
	case int64:
		w.Int(x)
	case bool:
		w.Bool(x)
	case string:
		w.String(x)
	case []any:
		w.Array()
		for _, e := range x {
			write(w, e)
		}
		w.End()
	case map[string]any:
		w.Object()
		for k, e := range x {
			write(w.Key(k), e)
		}
		w.End()
	}
}

// encoding/json reads back what was written, whatever it was.
func TestAgainstEncodingJSON(t *testing.T) {
	var w jsonout.Writer
	rapid.Check(t, func(t *rapid.T) {
		v := values(3).Draw(t, "value")
		w.Reset()
		write(&w, v)
		theirs, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var a, b any
		if err := json.Unmarshal(w.Bytes(), &a); err != nil {
			t.Fatalf("%s: %v", w.Bytes(), err)
		}
		if err := json.Unmarshal(theirs, &b); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("ours %s\ntheirs %s", w.Bytes(), theirs)
		}
	})
}

func TestRawAndExample(t *testing.T) {
	var w jsonout.Writer
	w.Object()
	w.Key("v").String("home")
	w.Key("jobs").Array()
	w.Int(3)
	w.Raw([]byte(`{"a":1}`))
	w.End()
	w.End()
	if got := string(w.Bytes()); got != `{"v":"home","jobs":[3,{"a":1}]}` {
		t.Error(got)
	}
	w.Object()
	defer func() {
		if recover() == nil {
			t.Error("Bytes took an object without its end")
		}
	}()
	w.Bytes()
}
