package server

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"strconv"
	"strings"
	"testing"
)

func testPhotos(t *testing.T) (*photos, http.Handler) {
	t.Helper()
	p, err := newPhotos(t.TempDir(), slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("/photos/{sha}", p)
	return p, guarded(mux)
}

// picture is a JPEG of noise, so that it has some size.
func picture(w, h int) []byte {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range img.Pix {
		img.Pix[i] = byte(i * 2654435761 >> 13)
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		panic(err)
	}
	return b.Bytes()
}

func name(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

func send(h http.Handler, sha string, piece []byte, offset, length int) *httptest.ResponseRecorder {
	r := httptest.NewRequest("PATCH", "/photos/"+sha, bytes.NewReader(piece))
	r.Header.Set("Upload-Offset", strconv.Itoa(offset))
	r.Header.Set("Upload-Length", strconv.Itoa(length))
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func ask(h http.Handler, method, sha string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(method, "/photos/"+sha, nil))
	return w
}

func TestPhotoArrivesInPieces(t *testing.T) {
	_, h := testPhotos(t)
	raw := picture(300, 200)
	sha, half := name(raw), len(raw)/2

	want := func(step string, w *httptest.ResponseRecorder, code, offset int) {
		t.Helper()
		if w.Code != code || w.Header().Get("Upload-Offset") != strconv.Itoa(offset) {
			t.Fatalf("%s: %d at offset %s, want %d at %d: %s", step, w.Code, w.Header().Get("Upload-Offset"), code, offset, w.Body)
		}
	}
	want("before anything", ask(h, "HEAD", sha), 404, 0)
	want("first half", send(h, sha, raw[:half], 0, len(raw)), 204, half)
	want("asked where to go on", ask(h, "HEAD", sha), 204, half)
	if w := ask(h, "GET", sha); w.Code != 404 {
		t.Fatalf("half a photo is served: %d", w.Code)
	}
	want("the first half again, its answer was lost", send(h, sha, raw[:half], 0, len(raw)), 409, half)
	want("a piece that leaves a gap", send(h, sha, raw[half+9:], half+9, len(raw)), 409, half)
	want("second half", send(h, sha, raw[half:], half, len(raw)), 201, len(raw))
	want("whole", ask(h, "HEAD", sha), 200, len(raw))
	want("sent by another phone too", send(h, sha, raw, 0, len(raw)), 201, len(raw))

	w := ask(h, "GET", sha)
	if !bytes.Equal(w.Body.Bytes(), raw) {
		t.Fatal("the photo was changed on its way")
	}
	for header, want := range map[string]string{
		"Content-Type":           "image/jpeg",
		"X-Content-Type-Options": "nosniff",
		"Content-Disposition":    `attachment; filename="` + sha[:16] + `.jpg"`,
	} {
		if got := w.Header().Get(header); got != want {
			t.Errorf("%s is %q, want %q", header, got, want)
		}
	}
}

func TestPhotoGoesOnAfterRestart(t *testing.T) {
	p, h := testPhotos(t)
	raw := picture(64, 64)
	send(h, name(raw), raw[:100], 0, len(raw))

	again, err := newPhotos(p.dir, p.log)
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("/photos/{sha}", again)
	if w := send(mux, name(raw), raw[100:], 100, len(raw)); w.Code != 201 {
		t.Fatalf("after a restart: %d %s", w.Code, w.Body)
	}
}

// The server stopped between the last byte and the filing: the phone that asks
// hears that all is here, and it is.
func TestPhotoThatWasNotFiled(t *testing.T) {
	p, h := testPhotos(t)
	good, bad := picture(64, 64), withExif(picture(32, 32), 0x8825)
	for _, raw := range [][]byte{good, bad} {
		if err := os.WriteFile(p.partial(name(raw)), raw, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if w := ask(h, "HEAD", name(good)); w.Code != 200 || !bytes.Equal(ask(h, "GET", name(good)).Body.Bytes(), good) {
		t.Errorf("a whole photo: %d", w.Code)
	}
	if w := ask(h, "HEAD", name(bad)); w.Code != 404 || w.Header().Get("Upload-Offset") != "0" {
		t.Errorf("a photo that is refused: %d at %s", w.Code, w.Header().Get("Upload-Offset"))
	}
}

// withExif puts an Exif segment into a JPEG: TIFF 6.0 header, one IFD with one
// tag, as CIPA DC-008 lays it out.
func withExif(raw []byte, tag uint16) []byte {
	tiff := []byte("II*\x00\x08\x00\x00\x00\x01\x00")
	tiff = binary.LittleEndian.AppendUint16(tiff, tag)
	tiff = append(tiff, 4, 0, 1, 0, 0, 0, 26, 0, 0, 0, 0, 0, 0, 0)
	body := append([]byte("Exif\x00\x00"), tiff...)
	seg := binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(body)+2))
	return bytes.Join([][]byte{raw[:2], seg, body, raw[2:]}, nil)
}

func withXMP(raw []byte, text string) []byte {
	body := append([]byte("http://ns.adobe.com/xap/1.0/\x00"), text...)
	seg := binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(body)+2))
	return bytes.Join([][]byte{raw[:2], seg, body, raw[2:]}, nil)
}

func pngWith(chunk string, body []byte) []byte {
	var b bytes.Buffer
	img := image.NewGray(image.Rect(0, 0, 8, 8))
	img.Set(3, 3, color.White)
	if err := png.Encode(&b, img); err != nil {
		panic(err)
	}
	raw := b.Bytes()
	c := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	c = append(append(c, chunk...), body...)
	c = binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
	const headEnd = 8 + 25 // signature and IHDR
	return bytes.Join([][]byte{raw[:headEnd], c, raw[headEnd:]}, nil)
}

// webpPixel is a lossy WebP of one pixel, the smallest file of the format
// that decoders take (commonly used to probe browsers; VP8 key frame of RFC 6386).
var webpPixel = []byte("RIFF\x24\x00\x00\x00WEBPVP8 \x18\x00\x00\x000\x01\x00\x9d\x01*\x01\x00\x01\x00\x02\x004%\xa4\x00\x03p\x00\xfe\xfb\x94\x00\x00")

func TestPhotoThatIsRefused(t *testing.T) {
	huge := pngHeader(30_000, 30_000)
	for _, c := range []struct {
		what string
		raw  []byte
		says string // "" if taken
	}{
		{"a plain JPEG", picture(32, 32), ""},
		{"a JPEG with harmless Exif (0x0112, orientation)", withExif(picture(32, 32), 0x0112), ""},
		{"a PNG", pngWith("tEXt", []byte("Comment\x00sill")), ""},
		{"a WebP", webpPixel, ""},
		{"a JPEG with GPS (0x8825)", withExif(picture(32, 32), 0x8825), "where it was taken"},
		{"a JPEG with GPS in XMP", withXMP(picture(32, 32), "<x exif:GPSLatitude='51,30N'/>"), "where it was taken"},
		{"a PNG with GPS", pngWith("eXIf", withExif(picture(8, 8), 0x8825)[12:]), "where it was taken"},
		{"a PNG with packed text", pngWith("zTXt", []byte("XML\x00\x00x")), "where it was taken"},
		{"a web page", []byte("<html><script>alert(1)</script>"), "no JPEG, PNG or WebP"},
		{"a page that begins like a JPEG", []byte("\xff\xd8\xff<html>"), "cannot be decoded"},
		{"half a JPEG", picture(64, 64)[:900], "cannot be decoded"},
		{"a PNG of 900 megapixels", huge, "pixels"},
	} {
		_, h := testPhotos(t)
		sha := name(c.raw)
		w := send(h, sha, c.raw, 0, len(c.raw))
		if c.says == "" {
			if w.Code != 201 {
				t.Errorf("%s: %d %s", c.what, w.Code, w.Body)
			}
			continue
		}
		if w.Code != 422 || !strings.Contains(w.Body.String(), c.says) {
			t.Errorf("%s: %d %q, want 422 with %q", c.what, w.Code, w.Body, c.says)
		}
		if ask(h, "GET", sha).Code != 404 || ask(h, "HEAD", sha).Header().Get("Upload-Offset") != "0" {
			t.Errorf("%s: refused, but kept", c.what)
		}
	}
}

func pngHeader(w, h int) []byte {
	raw := pngWith("tEXt", nil)
	binary.BigEndian.PutUint32(raw[16:], uint32(w))
	binary.BigEndian.PutUint32(raw[20:], uint32(h))
	binary.BigEndian.PutUint32(raw[29:], crc32.ChecksumIEEE(raw[12:29]))
	return raw
}

func TestPhotoOfAnotherName(t *testing.T) {
	p, h := testPhotos(t)
	raw, other := picture(32, 32), name(picture(16, 16))
	w := send(h, other, raw, 0, len(raw))
	if w.Code != 422 || !strings.Contains(w.Body.String(), "not those of this photo") {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if left, _ := os.ReadDir(p.partial("")); len(left) != 0 {
		t.Errorf("%d pieces left behind", len(left))
	}
}

func TestPhotoTooLarge(t *testing.T) {
	_, h := testPhotos(t)
	raw := make([]byte, 20<<20)
	w := send(h, name(raw), raw, 0, len(raw))
	if w.Code != 413 || !strings.Contains(w.Body.String(), "20.0 MB") {
		t.Errorf("20 MB: %d %s", w.Code, w.Body)
	}
	// A client that lies about the length is cut off where it said it would end.
	small := picture(32, 32)
	w = send(h, name(small), append(bytes.Clone(small), 0), 0, len(small))
	if w.Code != 413 || ask(h, "HEAD", name(small)).Header().Get("Upload-Offset") != "0" {
		t.Errorf("one byte too many: %d %s", w.Code, w.Body)
	}
}

func TestPhotoRequestsThatMakeNoSense(t *testing.T) {
	_, h := testPhotos(t)
	sha := strings.Repeat("a", 64)
	for _, c := range []struct {
		method, path, offset, length string
		code                         int
	}{
		{"PATCH", "/photos/" + sha, "", "10", 400},
		{"PATCH", "/photos/" + sha, "-1", "10", 400},
		{"PATCH", "/photos/" + sha, "11", "10", 400},
		{"PATCH", "/photos/" + sha, "0", "", 400},
		{"PATCH", "/photos/" + sha, "0", "0", 400},
		{"PATCH", "/photos/" + strings.ToUpper(sha), "0", "10", 400},
		{"GET", "/photos/..%2f..%2fetc%2fpasswd", "", "", 400},
		{"GET", "/photos/partial", "", "", 400},
		{"DELETE", "/photos/" + sha, "", "", 405},
		{"PUT", "/photos/" + sha, "0", "10", 405},
	} {
		r := httptest.NewRequest(c.method, c.path, strings.NewReader("0123456789"))
		r.Header.Set("Upload-Offset", c.offset)
		r.Header.Set("Upload-Length", c.length)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != c.code {
			t.Errorf("%s: %d, want %d: %s", fmt.Sprint(c.method, " ", c.path), w.Code, c.code, w.Body)
		}
	}
}

func FuzzTellsPlace(f *testing.F) {
	f.Add(withExif(picture(8, 8), 0x8825))
	f.Add(pngWith("eXIf", withExif(picture(8, 8), 0x8825)[12:]))
	f.Add(webpPixel)
	f.Fuzz(func(t *testing.T, raw []byte) { tellsPlace(raw) })
}
