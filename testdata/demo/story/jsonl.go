package story

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"strings"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// JSONL writes lines as a person would by hand: the view alone, names for ids,
// no seq (it counts up by itself), no receipt.
func JSONL(entries []Entry) []byte {
	names := map[string]string{}
	name := func(n string) { names[logbook.Named(n).String()] = n }
	for _, e := range entries {
		name(e.Writer)
		name(strings.SplitN(e.Log, ":", 2)[1])
		switch b := e.Body.(type) {
		case checklist.PersonAdd:
			name(b.Initials)
		case checklist.JobMove:
			name("yard")
		}
	}
	for n := 1; n <= 6; n++ {
		name(bayName(n))
	}
	var out []byte
	for _, e := range entries {
		out = append(out, `{"log":`...)
		out = text(out, e.Log)
		out = append(out, `,"writer":`...)
		out = text(out, e.Writer)
		out = append(out, `,"at":"`...)
		out = e.At.UTC().AppendFormat(out, "2006-01-02T15:04:05Z07:00")
		out = append(out, '"')
		if e.By != "" {
			out = append(out, `,"by":`...)
			out = text(out, e.By)
		}
		out = append(out, `,"kind":`...)
		out = text(out, e.Body.Kind())
		out = append(out, `,"body":`...)
		r := cbor.NewReader(line.Encode(e.Body))
		out = view(out, r, names)
		if r.Err() != nil {
			panic(fmt.Sprint(e, r.Err()))
		}
		out = append(out, "}\n"...)
	}
	return out
}

func text(out []byte, s string) []byte {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err)
	}
	return append(out, b...)
}

// view turns one CBOR item of a body into JSON.
func view(out []byte, r *cbor.Reader, names map[string]string) []byte {
	switch r.Major() {
	case 0, 1:
		return fmt.Append(out, r.Int())
	case 2:
		return text(out, base64.RawURLEncoding.EncodeToString(r.Bytes()))
	case 3:
		s := r.Text()
		if n, ok := names[s]; ok {
			s = n
		}
		return text(out, s)
	case 4:
		out = append(out, '[')
		for i, n := 0, r.Array(); i < n && r.Err() == nil; i++ {
			if i > 0 {
				out = append(out, ',')
			}
			out = view(out, r, names)
		}
		return append(out, ']')
	case 5:
		out = append(out, '{')
		for i, n := 0, r.Map(); i < n && r.Err() == nil; i++ {
			if i > 0 {
				out = append(out, ',')
			}
			out = text(out, r.Text())
			out = append(out, ':')
			out = view(out, r, names)
		}
		return append(out, '}')
	}
	return fmt.Append(out, r.Bool())
}
