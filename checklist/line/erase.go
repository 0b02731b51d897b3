package line

import (
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// Erased stands in a body where a text was erased.
const Erased = "erased"

// Erase takes the values of some keys, named with spaces between, out of the body
// of an entry, whole or erased before, and answers what stands in its place
// (logbook.Split): a text becomes Erased, any other value goes with its key.
// Bytes that are no entry stay as they are.
func Erase(entry []byte, gone string) []byte {
	e, err := logbook.Decode(entry)
	if err != nil {
		return entry
	}
	f := fields{}
	f.open(e.Body)
	left := f.items[:0]
	for _, it := range f.items {
		if names(gone, string(it.key)) {
			if it.value[0]>>5 != cbor.Text {
				continue
			}
			it.value = cbor.AppendText(nil, Erased)
		}
		left = append(left, it)
	}
	f.items = left
	e.Body = f.close(nil)
	return logbook.Left(logbook.EntrySum(entry), &e)
}

// names says whether a key is one of those in a text.
func names(keys, key string) bool {
	for at, i := 0, 0; i <= len(keys); i++ {
		if i == len(keys) || keys[i] == ' ' {
			if keys[at:i] == key {
				return true
			}
			at = i + 1
		}
	}
	return false
}
