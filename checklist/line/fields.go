package line

import (
	"bytes"
	"slices"
	"strconv"

	"bayhold/checklist"
	"bayhold/checklist/order"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// fields walks a body's fields once for both directions. When reading, each
// call takes its key out of the map; when writing, it adds its key unless the
// value is zero. So a kind's shape is said once, in schema.go.
type fields struct {
	kind    string
	items   []item
	writing bool
	named   func(name string) checklist.ID // set for hand-written lines only
	missing string                         // first required field that is not there
	err     error
	r       cbor.Reader // of the value being read: kept here, so that a field costs no allocation
	inner   *fields     // of the maps in a list, one after the other
}

type item struct {
	key   []byte
	value []byte // one CBOR item
	taken bool
}

const (
	must = true  // a body without it says nothing
	may  = false // zero means 'not given'
)

// maxFields is more than any kind has, the numbers of a rule set included, with
// room for a newer version's.
const maxFields = 256

// open splits a body's map into its items. The Reader sees to it that no key
// is there twice or out of order.
func (f *fields) open(body []byte) {
	f.r.Reset(body)
	r := &f.r
	n := r.Map()
	if r.Err() == nil && n > maxFields {
		f.fail("", "more than "+strconv.Itoa(maxFields)+" fields")
		return
	}
	if f.items = f.items[:0]; cap(f.items) < n {
		f.items = make([]item, 0, n)
	}
	for range n {
		key := r.TextBytes()
		value := r.Raw()
		if r.Err() != nil {
			break
		}
		f.items = append(f.items, item{key: key, value: value})
	}
	if err := r.Close(); err != nil {
		f.fail("", err.Error())
	}
}

// close returns the map of what was written, in deterministic order.
func (f *fields) close(b []byte) []byte {
	order.Stable(f.items, func(x, y *item) bool {
		// As their encodings order: shorter first, then bytewise.
		if len(x.key) != len(y.key) {
			return len(x.key) < len(y.key)
		}
		return bytes.Compare(x.key, y.key) < 0
	})
	b = cbor.AppendMap(b, len(f.items))
	for _, it := range f.items {
		b = append(cbor.AppendText(b, string(it.key)), it.value...)
	}
	return b
}

func (f *fields) fail(key, why string) {
	if f.err == nil {
		f.err = &Malformed{Kind: f.kind, Field: key, Why: why}
	}
}

// unknown names a field that no schema took, or "".
func (f *fields) unknown() string {
	for _, it := range f.items {
		if !it.taken {
			return string(it.key)
		}
	}
	return ""
}

func (f *fields) put(key string, value []byte) {
	f.items = append(f.items, item{key: []byte(key), value: value})
}

// take finds a key's value when reading.
func (f *fields) take(key string) []byte {
	for i := range f.items {
		if string(f.items[i].key) == key {
			f.items[i].taken = true
			return f.items[i].value
		}
	}
	return nil
}

// read hands the value of key to get, and refuses what get did not consume.
func (f *fields) read(key string, get func(r *cbor.Reader)) {
	value := f.take(key)
	if value == nil || f.err != nil {
		return
	}
	f.r.Reset(value)
	get(&f.r)
	if err := f.r.Close(); err != nil {
		f.fail(key, err.Error())
	}
}

// need notes a required field that stayed zero.
func (f *fields) need(key string, required, there bool) {
	if required && !there && f.missing == "" {
		f.missing = key
	}
}

func (f *fields) text(key string, v *string, required bool) {
	if f.writing {
		if *v != "" {
			f.put(key, cbor.AppendText(nil, *v))
		}
		return
	}
	f.read(key, func(r *cbor.Reader) { *v = r.Text() })
	f.need(key, required, !blank(*v))
}

func (f *fields) int(key string, v *int64) {
	if f.writing {
		if *v != 0 {
			f.put(key, cbor.AppendInt(nil, *v))
		}
		return
	}
	f.read(key, func(r *cbor.Reader) { *v = r.Int() })
}

func (f *fields) milli(key string, v *int32) {
	wide := int64(*v)
	f.int(key, &wide)
	if wide != int64(int32(wide)) {
		f.fail(key, "out of range")
	}
	*v = int32(wide)
}

func (f *fields) bool(key string, v *bool) {
	if f.writing {
		if *v {
			f.put(key, cbor.AppendBool(nil, true))
		}
		return
	}
	f.read(key, func(r *cbor.Reader) { *v = r.Bool() })
}

func (f *fields) bytes(key string, v *[]byte) {
	if f.writing {
		if len(*v) > 0 {
			f.put(key, cbor.AppendBytes(nil, *v))
		}
		return
	}
	f.read(key, func(r *cbor.Reader) {
		if f.named != nil && r.Major() == cbor.Text {
			b, ok := fromBase64(r.Text())
			if !ok {
				r.Fail("not base64url")
			}
			*v = b
			return
		}
		*v = slices.Clone(r.Bytes())
	})
}

func (f *fields) id(key string, v *checklist.ID, required bool) {
	if f.writing {
		if *v != (checklist.ID{}) {
			f.put(key, cbor.AppendText(nil, logbook.ID(*v).String()))
		}
		return
	}
	f.read(key, func(r *cbor.Reader) { *v = f.oneID(r) })
	f.need(key, required, *v != (checklist.ID{}))
}

func (f *fields) oneID(r *cbor.Reader) checklist.ID {
	s := r.Text()
	if s == "" {
		return checklist.ID{}
	}
	if id, ok := logbook.ParseID(s); ok {
		return checklist.ID(id)
	}
	if f.named != nil {
		return f.named(s)
	}
	r.Fail("not a UUID")
	return checklist.ID{}
}

func (f *fields) ids(key string, v *[]checklist.ID, required bool) {
	if f.writing {
		if len(*v) > 0 {
			b := cbor.AppendArray(nil, len(*v))
			for _, id := range *v {
				b = cbor.AppendText(b, logbook.ID(id).String())
			}
			f.put(key, b)
		}
		return
	}
	f.read(key, func(r *cbor.Reader) {
		for n := f.many(r); n > 0 && r.Err() == nil; n-- {
			*v = append(*v, f.oneID(r))
		}
	})
	f.need(key, required, len(*v) > 0)
}

func (f *fields) texts(key string, v *[]string, required bool) {
	if f.writing {
		if len(*v) > 0 {
			b := cbor.AppendArray(nil, len(*v))
			for _, s := range *v {
				b = cbor.AppendText(b, s)
			}
			f.put(key, b)
		}
		return
	}
	f.read(key, func(r *cbor.Reader) {
		for n := f.many(r); n > 0 && r.Err() == nil; n-- {
			*v = append(*v, r.Text())
		}
	})
	f.need(key, required, len(*v) > 0)
}

func (f *fields) ints(key string, v *[]int64) {
	if f.writing {
		if len(*v) > 0 {
			b := cbor.AppendArray(nil, len(*v))
			for _, n := range *v {
				b = cbor.AppendInt(b, n)
			}
			f.put(key, b)
		}
		return
	}
	f.read(key, func(r *cbor.Reader) {
		for n := f.many(r); n > 0 && r.Err() == nil; n-- {
			*v = append(*v, r.Int())
		}
	})
}

// maxMany bounds every list in a body: no vehicle has 200 panels.
const maxMany = 200

func (f *fields) many(r *cbor.Reader) int {
	n := r.Array()
	if n > maxMany {
		r.Fail("more than " + strconv.Itoa(maxMany) + " of them")
		return 0
	}
	return n
}

// triple is a Range as [least, most, last].
func (f *fields) triple(key string, v *checklist.Range) {
	if f.writing {
		if *v != (checklist.Range{}) {
			b := cbor.AppendArray(nil, 3)
			for _, n := range [...]int32{v.Least, v.Most, v.Last} {
				b = cbor.AppendInt(b, int64(n))
			}
			f.put(key, b)
		}
		return
	}
	f.read(key, func(r *cbor.Reader) {
		if r.Array() != 3 {
			r.Fail("not [least, most, last]")
		}
		for _, p := range [...]*int32{&v.Least, &v.Most, &v.Last} {
			n := r.Int()
			if n != int64(int32(n)) {
				r.Fail("out of range")
			}
			*p = int32(n)
		}
	})
}

// numbers is a map from text keys to integers; unlike a field, a zero in it
// is kept: it is a rule's value.
func (f *fields) numbers(key string, v *map[string]int64, required bool) {
	if f.writing {
		if len(*v) > 0 {
			f.put(key, AppendValues(nil, *v))
		}
		return
	}
	value := f.take(key)
	if value != nil && f.err == nil {
		in := fields{kind: f.kind}
		in.open(value)
		*v = make(map[string]int64, len(in.items))
		for _, it := range in.items {
			r := cbor.NewReader(it.value)
			(*v)[string(it.key)] = r.Int()
			if err := r.Err(); err != nil {
				f.fail(key, err.Error())
			}
		}
		if in.err != nil && f.err == nil {
			f.err = in.err
		}
	}
	f.need(key, required, len(*v) > 0)
}

// AppendValues appends the canonical encoding of a rule set's values. Its
// SHA-256 is the set's hash.
func AppendValues(b []byte, values map[string]int64) []byte {
	out := fields{writing: true}
	for k, n := range values {
		out.put(k, cbor.AppendInt(nil, n))
	}
	return out.close(b)
}

// list is an array of maps, each walked by one.
func list[T any](f *fields, key string, v *[]T, required bool, one func(*fields, *T)) {
	f.maps(key, len(*v), required, func(in *fields, i int) {
		if f.writing {
			one(in, &(*v)[i])
			return
		}
		var t T
		one(in, &t)
		*v = append(*v, t)
	})
}

// maps is an array of n maps, or when reading of as many as come.
func (f *fields) maps(key string, n int, required bool, one func(*fields, int)) {
	if f.writing {
		if n > 0 {
			b := cbor.AppendArray(nil, n)
			for i := range n {
				out := fields{kind: f.kind, writing: true}
				one(&out, i)
				b = out.close(b)
			}
			f.put(key, b)
		}
		return
	}
	any := false
	f.read(key, func(r *cbor.Reader) {
		if f.inner == nil {
			f.inner = new(fields)
		}
		in := f.inner
		in.kind, in.named = f.kind, f.named
		for n := f.many(r); n > 0; n-- {
			raw := r.Raw()
			if r.Err() != nil {
				return
			}
			in.missing, in.err = "", nil
			in.open(raw)
			one(in, -1)
			if in.err == nil && f.named != nil && in.unknown() != "" {
				in.fail(in.unknown(), "no such field")
			}
			if in.err != nil && f.err == nil {
				f.err = in.err
			}
			if in.missing != "" && f.missing == "" {
				f.missing = key + "." + in.missing
			}
			any = true
		}
	})
	f.need(key, required, any)
}

// blank says that a text holds nothing a person could read.
func blank(s string) bool {
	for _, c := range s {
		if c != ' ' && c != '\t' && c != '\n' && c != '\r' && c != '\u00a0' {
			return false
		}
	}
	return true
}

// fromBase64 reads base64url without padding (RFC 4648 section 5).
func fromBase64(s string) ([]byte, bool) {
	out := make([]byte, 0, len(s)*3/4)
	var acc, bits uint
	for i := range len(s) {
		var d uint
		switch c := s[i]; {
		case c >= 'A' && c <= 'Z':
			d = uint(c - 'A')
		case c >= 'a' && c <= 'z':
			d = uint(c-'a') + 26
		case c >= '0' && c <= '9':
			d = uint(c-'0') + 52
		case c == '-':
			d = 62
		case c == '_':
			d = 63
		default:
			return nil, false
		}
		acc, bits = acc<<6|d, bits+6
		if bits >= 8 {
			bits -= 8
			out = append(out, byte(acc>>bits))
			acc &= 1<<bits - 1
		}
	}
	return out, bits < 6 && acc == 0
}
