package jsonl

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"bayhold/sync/cbor"
)

// bytesKey is the one key of the object that stands for a byte string. A map
// that truly has this one key has its value wrapped in another such object.
const bytesKey = "base64url"

// appendBody appends the JSON of a body that logbook.Decode has checked.
func appendBody(b, body []byte) []byte { return appendItem(b, cbor.NewReader(body)) }

func appendItem(b []byte, r *cbor.Reader) []byte {
	switch r.Major() {
	case cbor.Uint:
		return strconv.AppendUint(b, r.Uint(), 10)
	case cbor.NegInt:
		return strconv.AppendInt(b, r.Int(), 10)
	case cbor.Bytes:
		b = append(b, `{"`+bytesKey+`":"`...)
		b = base64.RawURLEncoding.AppendEncode(b, r.Bytes())
		return append(b, `"}`...)
	case cbor.Text:
		return appendString(b, r.Text())
	case cbor.Array:
		b = append(b, '[')
		for i := range r.Array() {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendItem(b, r)
		}
		return append(b, ']')
	case cbor.Map:
		b = append(b, '{')
		n := r.Map()
		for i := range n {
			if i > 0 {
				b = append(b, ',')
			}
			key := r.Text()
			b = append(appendString(b, key), ':')
			if n == 1 && key == bytesKey {
				b = append(b, `{"`+bytesKey+`":`...)
				b = append(appendItem(b, r), '}')
			} else {
				b = appendItem(b, r)
			}
		}
		return append(b, '}')
	}
	if r.Null() {
		return append(b, "null"...)
	}
	return strconv.AppendBool(b, r.Bool())
}

// encode appends the CBOR of a JSON value.
func encode(b []byte, v any) ([]byte, error) {
	switch v := v.(type) {
	case nil:
		return cbor.AppendNull(b), nil
	case bool:
		return cbor.AppendBool(b, v), nil
	case string:
		return cbor.AppendText(b, v), nil
	case json.Number:
		return encodeNumber(b, string(v))
	case []any:
		b = cbor.AppendArray(b, len(v))
		for _, x := range v {
			var err error
			if b, err = encode(b, x); err != nil {
				return nil, err
			}
		}
		return b, nil
	case map[string]any:
		return encodeMap(b, v)
	}
	return nil, fmt.Errorf("%v is no JSON", v)
}

func encodeNumber(b []byte, text string) ([]byte, error) {
	if u, err := strconv.ParseUint(text, 10, 64); err == nil {
		return cbor.AppendUint(b, u), nil
	}
	if i, err := strconv.ParseInt(text, 10, 64); err == nil && i != 0 {
		return cbor.AppendInt(b, i), nil
	}
	return nil, fmt.Errorf("%s: an entry holds whole numbers from %d to %d", text, math.MinInt64, uint64(math.MaxUint64))
}

func encodeMap(b []byte, m map[string]any) ([]byte, error) {
	if x, ok := m[bytesKey]; ok && len(m) == 1 {
		if in, ok := x.(map[string]any); ok && len(in) == 1 {
			if x, ok := in[bytesKey]; ok {
				b = cbor.AppendText(cbor.AppendMap(b, 1), bytesKey)
				return encode(b, x)
			}
		}
		text, _ := x.(string)
		raw, err := base64.RawURLEncoding.Strict().DecodeString(text)
		if err != nil {
			return nil, errors.New(bytesKey + ": " + err.Error())
		}
		return cbor.AppendBytes(b, raw), nil
	}
	type pair struct{ key, value []byte }
	pairs := make([]pair, 0, len(m))
	for k, x := range m {
		value, err := encode(nil, x)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", k, err)
		}
		pairs = append(pairs, pair{cbor.AppendText(nil, k), value})
	}
	slices.SortFunc(pairs, func(a, c pair) int { return bytes.Compare(a.key, c.key) })
	b = cbor.AppendMap(b, len(pairs))
	for _, p := range pairs {
		b = append(append(b, p.key...), p.value...)
	}
	return b, nil
}
