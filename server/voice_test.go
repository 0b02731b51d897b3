package server

import (
	"bytes"
	"encoding/binary"
	"strings"
	"testing"
)

// el is one EBML element by RFC 8794: its id as it stands, then its length in
// one byte with the marker bit 0x80, or in four with 0x10 in front.
func el(id string, body ...byte) []byte {
	if len(body) < 0x7f {
		return append(append([]byte(id), 0x80|byte(len(body))), body...)
	}
	b := binary.BigEndian.AppendUint32([]byte(id), 0x10000000|uint32(len(body)))
	return append(b, body...)
}

// endless is an element whose length its writer did not know: 0x01 and seven
// bytes of ones (RFC 8794 section 6.2), as a recorder writes its segment.
func endless(id string, body ...byte) []byte {
	return append(append([]byte(id), 1, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff), body...)
}

func glue(parts ...[]byte) []byte { return bytes.Join(parts, nil) }

// box is one box of ISO/IEC 14496-12 section 4.2: 32 bits of length that count
// themselves, four letters, the body.
func box(kind string, body ...byte) []byte {
	return append(append(binary.BigEndian.AppendUint32(nil, uint32(8+len(body))), kind...), body...)
}

// handler is the hdlr box of section 8.4.3: version and flags, four bytes of
// zero, the type, twelve of zero, a name.
func handler(kind string) []byte {
	return box("hdlr", glue(make([]byte, 8), []byte(kind), make([]byte, 12), []byte("x\x00"))...)
}

// A spoken note is kept if it is sound and nothing else in one of the two
// containers, and is served inert; whatever else is refused with a sentence.
func TestVoiceNotes(t *testing.T) {
	header := el("\x1a\x45\xdf\xa3", el("\x42\x82", []byte("webm")...)...)
	track := func(kind byte) []byte {
		return el("\xae", glue(el("\xd7", 1), el("\x83", kind), el("\x86", []byte("A_OPUS")...))...)
	}
	tracks := func(all ...[]byte) []byte { return el("\x16\x54\xae\x6b", glue(all...)...) }
	cluster := endless("\x1f\x43\xb6\x75", make([]byte, 300)...)
	segment := func(parts ...[]byte) []byte { return endless("\x18\x53\x80\x67", glue(parts...)...) }
	webm := glue(header, segment(tracks(track(2)), cluster))

	ftyp := box("ftyp", []byte("isom\x00\x00\x02\x00isom")...)
	trak := func(kind string) []byte { return box("trak", box("mdia", handler(kind)...)...) }
	mp4 := func(parts ...[]byte) []byte {
		return glue(ftyp, box("moov", glue(parts...)...), box("mdat", make([]byte, 300)...))
	}

	for _, v := range []struct {
		what  string
		raw   []byte
		kind  string // served as; "" if refused
		ext   string
		words string // of the refusal
	}{
		{"WebM with sound", webm, "audio/webm", ".webm", ""},
		{"MP4 with sound", mp4(trak("soun")), "audio/mp4", ".m4a", ""},
		{"WebM with a picture too", glue(header, segment(tracks(track(2), track(1)), cluster)), "", "", "more than sound"},
		{"MP4 with a picture too", mp4(trak("soun"), trak("vide")), "", "", "more than sound"},
		{"WebM without tracks", glue(header, segment(cluster)), "", "", "no sound is in it"},
		{"a container of another kind", glue(el("\x1a\x45\xdf\xa3", el("\x42\x82", []byte("matroska")...)...), segment(tracks(track(2)))), "", "", "no sound is in it"},
		{"WebM with tags", glue(header, segment(tracks(track(2)), el("\x12\x54\xc3\x67", 0), cluster)), "", "", "where it was recorded"},
		{"MP4 with a place", mp4(trak("soun"), box("udta", box("\xa9xyz", []byte("+50.1+008.6/")...)...)), "", "", "where it was recorded"},
		{"MP4 with a location box", mp4(trak("soun"), box("udta", box("loci", make([]byte, 20)...)...)), "", "", "where it was recorded"},
		{"only the first bytes of WebM", []byte("\x1a\x45\xdf\xa3<script>alert(1)</script>"), "", "", "no sound is in it"},
		{"a box longer than the file", glue(ftyp, []byte("\x00\x00\xff\xffmoov")), "", "", "no sound is in it"},
		{"too long", append(bytes.Clone(webm), make([]byte, maxVoiceBytes)...), "", "", "at most 2 MB"},
		{"a page", []byte("<!doctype html><script>alert(1)</script>"), "", "", "no voice note"},
	} {
		_, h := testPhotos(t)
		sha := name(v.raw)
		w := send(h, sha, v.raw, 0, len(v.raw))
		if v.kind == "" {
			if w.Code != 422 || !strings.Contains(w.Body.String(), v.words) {
				t.Errorf("%s: %d %s, want 422 with '%s'", v.what, w.Code, w.Body, v.words)
			}
			if w := ask(h, "GET", sha); w.Code != 404 {
				t.Errorf("%s: is served though it was refused", v.what)
			}
			continue
		}
		if w.Code != 201 {
			t.Errorf("%s: %d %s", v.what, w.Code, w.Body)
		}
		got := ask(h, "GET", sha)
		if !bytes.Equal(got.Body.Bytes(), v.raw) {
			t.Errorf("%s: came back changed", v.what)
		}
		for key, want := range map[string]string{"Content-Type": v.kind, "X-Content-Type-Options": "nosniff",
			"Content-Disposition": `attachment; filename="` + sha[:16] + v.ext + `"`} {
			if got := got.Header().Get(key); got != want {
				t.Errorf("%s: %s is %s, want %s", v.what, key, got, want)
			}
		}
	}
}

// Whatever bytes come, the look into a container ends and does not break.
func FuzzVoice(f *testing.F) {
	f.Add(glue(el("\x1a\x45\xdf\xa3", el("\x42\x82", []byte("webm")...)...), endless("\x18\x53\x80\x67", el("\x16\x54\xae\x6b", el("\xae", el("\x83", 2)...)...)...)))
	f.Add(glue(box("ftyp", []byte("isom")...), box("moov", box("trak", box("mdia", handler("soun")...)...)...)))
	f.Fuzz(func(t *testing.T, raw []byte) { checkVoice(raw) })
}
