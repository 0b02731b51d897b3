package server

import (
	"bytes"
	"compress/flate"
	"io"
	"testing"

	"bayhold/sync/session"
)

// Whatever a phone sends, a frame within the limit comes out or an error does,
// and a packed frame is what compress/flate reads of it.
func FuzzUnpack(f *testing.F) {
	var bomb bytes.Buffer
	bomb.WriteByte(deflateFrame)
	w, err := flate.NewWriter(&bomb, flate.BestCompression)
	if err != nil {
		f.Fatal(err)
	}
	w.Write(make([]byte, session.MaxFrame+1))
	w.Close()
	f.Add(bomb.Bytes())
	f.Add([]byte{})
	f.Add([]byte{2, 1})
	f.Add(pack(session.Frame{Bytes: []byte("tick")}))
	f.Add(pack(session.Frame{Bytes: bytes.Repeat([]byte("line"), packFrom), Batch: true}))
	f.Fuzz(func(t *testing.T, b []byte) {
		got, err := unpack(bytes.NewReader(b))
		if err != nil {
			return
		}
		if len(got) > session.MaxFrame {
			t.Fatalf("%d bytes were taken, the limit is %d", len(got), session.MaxFrame)
		}
		want := b[1:]
		if b[0] == deflateFrame {
			if want, err = io.ReadAll(flate.NewReader(bytes.NewReader(b[1:]))); err != nil {
				t.Fatalf("taken, but compress/flate says: %v", err)
			}
		}
		if !bytes.Equal(got, want) {
			t.Fatalf("unpacked as %x, want %x", got, want)
		}
	})
}
