package server

import (
	"bytes"
	"encoding/binary"
	"fmt"
)

// maxVoiceBytes is what a minute of speech may have: a browser's recorder makes
// 16 to 128 kbit/s of it, so at most 1 MB.
const maxVoiceBytes = 2 << 20

// deepest is how far what is looked at may be nested; the formats have it at
// three.
const deepest = 8

// voiceType tells the two containers that browsers record into by their first
// bytes: the EBML header's id (RFC 8794 section 11.2.1), and the box type ftyp
// behind its length (ISO/IEC 14496-12 section 4.3).
func voiceType(b []byte) (kind, ext string) {
	switch {
	case bytes.HasPrefix(b, []byte("\x1a\x45\xdf\xa3")):
		return "audio/webm", ".webm"
	case len(b) >= 8 && string(b[4:8]) == "ftyp":
		return "audio/mp4", ".m4a"
	}
	return "", ""
}

// checkVoice returns the sentence that refuses a spoken note, or "". It is
// stored and served as it came and never decoded here, so what is looked at is
// the container: of the kind that it says, with sound and nothing else in it,
// and with no place where it was recorded.
func checkVoice(raw []byte) string {
	if len(raw) > maxVoiceBytes {
		return fmt.Sprintf("this voice note has %.1f MB; at most %d MB are taken. Speak at most a minute", float64(len(raw))/(1<<20), maxVoiceBytes>>20)
	}
	var tracks []string
	var place bool
	if kind, _ := voiceType(raw); kind == "audio/webm" {
		tracks, place = webmTracks(raw)
	} else {
		tracks, place = mp4Tracks(raw)
	}
	if place {
		return "this voice note says where it was recorded; strip its location and send it again"
	}
	if len(tracks) == 0 {
		return "this is no voice note that can be read: no sound is in it"
	}
	for _, t := range tracks {
		if t != "sound" {
			return "this is no voice note: there is more than sound in it"
		}
	}
	return ""
}

// The ids of WebM's elements (RFC 9559 section 5.1; DocType is EBML's own, RFC
// 8794 section 11.2.6).
const (
	ebmlHeader    = 0x1a45dfa3
	ebmlDocType   = 0x4282
	webmSegment   = 0x18538067
	webmTrackList = 0x1654ae6b
	webmTrack     = 0xae
	webmType      = 0x83
	webmTags      = 0x1254c367
)

// webmTracks lists what a WebM file's tracks hold: 1 is video, 2 is sound
// (RFC 9559 section 5.1.4.1.3). Tags can say where it was recorded, and a
// browser's recorder writes none, so any count as a place.
func webmTracks(raw []byte) (tracks []string, place bool) {
	webm := false
	var walk func(b []byte, deep int)
	walk = func(b []byte, deep int) {
		for len(b) > 0 && deep < deepest {
			id, body, rest, ok := element(b)
			if !ok {
				return
			}
			switch id {
			case ebmlHeader, webmSegment, webmTrackList, webmTrack:
				walk(body, deep+1)
			case ebmlDocType:
				webm = string(body) == "webm"
			case webmType:
				kind := "other"
				if len(body) == 1 && body[0] == 2 {
					kind = "sound"
				}
				tracks = append(tracks, kind)
			case webmTags:
				place = true
			}
			b = rest
		}
	}
	walk(raw, 0)
	if !webm {
		return nil, place
	}
	return tracks, place
}

// element reads one element of EBML: an id and a length, both of which say by
// their leading zeros how long they are (RFC 8794 sections 5 and 6). A length
// of ones is one that the recorder did not know: the rest of what holds it.
func element(b []byte) (id uint64, body, rest []byte, ok bool) {
	id, n := vint(b, 4, false)
	if n == 0 {
		return 0, nil, nil, false
	}
	size, m := vint(b[n:], 8, true)
	if m == 0 {
		return 0, nil, nil, false
	}
	b = b[n+m:]
	if size == 1<<(7*m)-1 || size > uint64(len(b)) {
		size = uint64(len(b))
	}
	return id, b[:size], b[size:], true
}

// vint reads a number of at most most bytes, without the bit that marks its
// length if it is to be cut; n is 0 if there is none.
func vint(b []byte, most int, cut bool) (v uint64, n int) {
	for n = 1; n <= most && n <= len(b); n++ {
		if b[0]&(0x80>>(n-1)) == 0 {
			continue
		}
		for _, x := range b[:n] {
			v = v<<8 | uint64(x)
		}
		if cut {
			v &= 1<<(7*n) - 1
		}
		return v, n
	}
	return 0, 0
}

// mp4Tracks lists what an MP4 file's tracks hold, by the type in each track's
// handler box (ISO/IEC 14496-12 section 8.4.3: moov, trak, mdia, hdlr).
// User data (udta) and metadata (meta) can say where it was recorded; only
// those that do count as a place: '\xa9xyz' or 'loci' (3GPP TS 26.244 section
// 8.10), and keys that name a location.
func mp4Tracks(raw []byte) (tracks []string, place bool) {
	var walk func(b []byte, deep int)
	walk = func(b []byte, deep int) {
		for len(b) >= 8 && deep < deepest {
			size, head := uint64(binary.BigEndian.Uint32(b)), 8
			switch {
			case size == 1 && len(b) >= 16:
				size, head = binary.BigEndian.Uint64(b[8:]), 16
			case size == 0:
				size = uint64(len(b))
			}
			if size < uint64(head) || size > uint64(len(b)) {
				return
			}
			body := b[head:size]
			switch string(b[4:8]) {
			case "moov", "trak", "mdia":
				walk(body, deep+1)
			case "hdlr":
				if len(body) >= 12 { // version and flags, then 4 bytes of zero, then the type
					kind := "other"
					if string(body[8:12]) == "soun" {
						kind = "sound"
					}
					tracks = append(tracks, kind)
				}
			case "udta", "meta":
				for _, word := range []string{"\xa9xyz", "loci", "location"} {
					place = place || bytes.Contains(body, []byte(word))
				}
			}
			b = b[size:]
		}
	}
	walk(raw, 0)
	return tracks, place
}
