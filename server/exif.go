package server

import (
	"bytes"
	"encoding/binary"
)

// tellsPlace says whether a picture's metadata hold where it was taken: the
// GPS tags of Exif (CIPA DC-008-2019, section 4.6.3: tag 0x8825 of the first
// IFD points to them) or of XMP (ISO 16684-1; its exif:GPSLatitude and
// photoshop or IPTC place names). Metadata that cannot be read count as
// telling: the phone makes its pictures without any, so only a foreign file
// is turned away.
func tellsPlace(raw []byte) bool {
	for _, m := range metadata(raw) {
		switch {
		case bytes.HasPrefix(m, []byte("Exif\x00\x00")):
			if exifTellsPlace(m[6:]) {
				return true
			}
		case bytes.HasPrefix(m, []byte("II*\x00")), bytes.HasPrefix(m, []byte("MM\x00*")):
			if exifTellsPlace(m) {
				return true
			}
		default:
			for _, word := range []string{"GPSLatitude", "GPSLongitude", "GPSCoordinates", "LocationCreated", "photoshop:City"} {
				if bytes.Contains(m, []byte(word)) {
					return true
				}
			}
		}
	}
	return false
}

// metadata returns the pieces of a picture that are not picture.
func metadata(raw []byte) [][]byte {
	switch kind, _ := pictureType(raw); kind {
	case "image/jpeg":
		return jpegMetadata(raw)
	case "image/png":
		return pngMetadata(raw)
	case "image/webp":
		return webpMetadata(raw)
	}
	return nil
}

// jpegMetadata walks the marker segments before the first scan (ITU-T T.81
// annex B.1.1.4): two bytes of marker, two of length that count themselves.
func jpegMetadata(raw []byte) (out [][]byte) {
	for b := raw[2:]; len(b) >= 4 && b[0] == 0xff; {
		if b[1] == 0xff { // fill byte
			b = b[1:]
			continue
		}
		if b[1] == 0xda || b[1] == 0xd9 { // start of scan, end of image
			break
		}
		n := int(binary.BigEndian.Uint16(b[2:]))
		if n < 2 || 2+n > len(b) {
			break
		}
		if b[1] >= 0xe1 && b[1] <= 0xef { // APP1 to APP15; APP0 is JFIF
			out = append(out, b[4:2+n])
		}
		b = b[2+n:]
	}
	return out
}

// pngMetadata walks the chunks (ISO/IEC 15948 section 5.3) and takes Exif and
// the three kinds of text; packed text cannot be looked into and is returned
// as unreadable Exif, which tellsPlace refuses.
func pngMetadata(raw []byte) (out [][]byte) {
	for b := raw[8:]; len(b) >= 12; {
		n := int(binary.BigEndian.Uint32(b))
		if n < 0 || 12+n > len(b) {
			break
		}
		switch body := b[8 : 8+n]; string(b[4:8]) {
		case "eXIf":
			out = append(out, append([]byte("Exif\x00\x00"), body...))
		case "tEXt", "iTXt":
			out = append(out, body)
		case "zTXt":
			out = append(out, []byte("Exif\x00\x00"))
		}
		b = b[12+n:]
	}
	return out
}

// webpMetadata walks the chunks of the RIFF container (WebP Container
// Specification, 'EXIF' and 'XMP ').
func webpMetadata(raw []byte) (out [][]byte) {
	for b := raw[12:]; len(b) >= 8; {
		n := int(binary.LittleEndian.Uint32(b[4:]))
		if n < 0 || 8+n > len(b) {
			break
		}
		switch body := b[8 : 8+n]; string(b[:4]) {
		case "EXIF":
			if !bytes.HasPrefix(body, []byte("Exif\x00\x00")) {
				body = append([]byte("Exif\x00\x00"), body...)
			}
			out = append(out, body)
		case "XMP ":
			out = append(out, body)
		}
		b = b[min(len(b), 8+n+n&1):]
	}
	return out
}

// exifTellsPlace looks into the first IFD of a TIFF structure (TIFF 6.0,
// section 2) for the pointer to the GPS tags.
func exifTellsPlace(tiff []byte) bool {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(tiff, []byte("II*\x00")):
		order = binary.LittleEndian
	case bytes.HasPrefix(tiff, []byte("MM\x00*")):
		order = binary.BigEndian
	default:
		return true
	}
	if len(tiff) < 8 {
		return true
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return true
	}
	n := int64(order.Uint16(tiff[at:]))
	if at+2+12*n > int64(len(tiff)) {
		return true
	}
	for i := range n {
		if order.Uint16(tiff[at+2+12*i:]) == 0x8825 {
			return true
		}
	}
	return false
}
