package cbor_test

import (
	"bytes"
	"slices"

	"bayhold/sync/cbor"
)

// encode writes a tree of values with the package's functions.
func encode(v any, b []byte) []byte {
	switch v := v.(type) {
	case nil:
		return cbor.AppendNull(b)
	case bool:
		return cbor.AppendBool(b, v)
	case uint64:
		return cbor.AppendUint(b, v)
	case int64:
		return cbor.AppendInt(b, v)
	case []byte:
		return cbor.AppendBytes(b, v)
	case string:
		return cbor.AppendText(b, v)
	case []any:
		b = cbor.AppendArray(b, len(v))
		for _, x := range v {
			b = encode(x, b)
		}
		return b
	case map[any]any:
		type pair struct{ k, v []byte }
		var pairs []pair
		for k, x := range v {
			pairs = append(pairs, pair{encode(k, nil), encode(x, nil)})
		}
		slices.SortFunc(pairs, func(a, c pair) int { return bytes.Compare(a.k, c.k) })
		b = cbor.AppendMap(b, len(v))
		for _, p := range pairs {
			b = append(append(b, p.k...), p.v...)
		}
		return b
	}
	panic("no such value")
}

// decode reads one item of any kind into a tree of values.
func decode(r *cbor.Reader) any {
	switch r.Major() {
	case cbor.Uint:
		return r.Uint()
	case cbor.NegInt:
		return r.Int()
	case cbor.Bytes:
		return append([]byte{}, r.Bytes()...)
	case cbor.Text:
		return r.Text()
	case cbor.Array:
		a := []any{}
		for n := r.Array(); n > 0 && r.Err() == nil; n-- {
			a = append(a, decode(r))
		}
		return a
	case cbor.Map:
		m := map[any]any{}
		for n := r.Map(); n > 0 && r.Err() == nil; n-- {
			k := key(r)
			m[k] = decode(r)
		}
		return m
	}
	if r.Null() {
		return nil
	}
	return r.Bool()
}

// key reads a map key; what is no key becomes nil, and the Reader says why.
func key(r *cbor.Reader) any {
	switch r.Major() {
	case cbor.Uint, cbor.NegInt, cbor.Text:
		return decode(r)
	}
	r.Skip()
	return nil
}
