// Package cbor writes and reads the part of CBOR that Bayhold's entries and
// frames need, in the core deterministic encoding of RFC 8949 section 4.2.1.
//
// One value has one encoding. That is what lets an entry be hashed, compared
// and exported by its bytes: integers take their shortest form, lengths are
// definite, the keys of a map stand in the bytewise order of their encodings
// and none stands twice. The Reader refuses everything else, so bytes that it
// has read to the end are the bytes that a writer of the same value makes.
//
// What is left out is refused too: floating point (its last bit differs
// between machines, and entries hold integers), tags, undefined and the other
// simple values, negative numbers below -2^63, keys that are neither integer nor text, and nesting deeper
// than MaxDepth.
//
// Writing appends to a slice, and a container is a head followed by its
// items:
//
//	b = cbor.AppendMap(b, 2)
//	b = cbor.AppendText(b, "at") // shorter keys first, then bytewise
//	b = cbor.AppendUint(b, 1700000000000)
//	b = cbor.AppendText(b, "spot")
//	b = cbor.AppendText(b, "left sill")
//
// Reading asks for what should come next. The first disagreement is kept and
// everything after it answers zero, so a decoder reads straight through and
// asks once at the end:
//
//	r := cbor.NewReader(b)
//	for n := r.Map(); n > 0; n-- {
//		switch r.Text() {
//		case "at":
//			at = r.Uint()
//		case "spot":
//			spot = r.Text()
//		default:
//			r.Skip() // a key of a newer version
//		}
//	}
//	return r.Close()
//
// The package allocates nothing but the strings that Text returns and the
// error, and imports nothing that weighs on the phone's core.
package cbor
