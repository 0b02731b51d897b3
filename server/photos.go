package server

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	_ "image/jpeg" // what a phone's camera and canvas make
	_ "image/png"
	"io"
	"io/fs"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"sync"
	"time"

	_ "golang.org/x/image/webp"
)

// photoFolder is where photos lie in the data folder.
const photoFolder = "photos"

// Limits of a photo. The phone scales pictures down to a fraction of this.
const (
	maxPhotoBytes  = 12 << 20
	partialKept    = 30 * 24 * time.Hour
	maxPhotoPixels = 25_000_000 // a camera's full 12 megapixels twice over; bounds the memory of the check
)

// photos keeps pictures as files named by the SHA-256 of their bytes, beside
// the store and never in it. A line that names a photo may arrive before it.
//
//	HEAD  /photos/{sha256}   404: nothing yet. 204: Upload-Offset bytes of
//	                         Upload-Length are here. 200: all of it is.
//	PATCH /photos/{sha256}   the next piece. Upload-Offset is where it begins,
//	                         Upload-Length the whole. 204 and the new
//	                         Upload-Offset: more is wanted. 201: it is all
//	                         here, checked and on disk. 409: go on from the
//	                         Upload-Offset of the answer.
//	GET   /photos/{sha256}   the picture, exactly as it came
//
// A piece is on disk before it is answered. When the last piece is there the
// bytes have to have the name's hash, decode as JPEG, PNG or WebP, and hold no
// place where the picture was taken. What fails is deleted and answered 422
// with a sentence. Spoken notes come and go the same way; see checkVoice.
type photos struct {
	dir    string
	log    *slog.Logger
	erased func(sha string) bool // it was erased and is not taken again; nil: none was

	mu   sync.Mutex
	busy map[string]bool // uploads in hand; a second one of the same photo waits its turn outside
	look sync.Mutex      // one picture is decoded at a time, which bounds memory
}

func newPhotos(dir string, log *slog.Logger) (*photos, error) {
	p := &photos{dir: dir, log: log, busy: map[string]bool{}}
	if err := os.MkdirAll(p.partial(""), 0o700); err != nil {
		return nil, fmt.Errorf("making the folder for photos: %w", err)
	}
	if err := p.forget(time.Now().Add(-partialKept)); err != nil {
		return nil, fmt.Errorf("clearing photos that never came: %w", err)
	}
	return p, nil
}

// forget deletes pieces that nobody went on with since a moment; their phone,
// should it come back, begins again.
func (p *photos) forget(since time.Time) error {
	list, err := os.ReadDir(p.partial(""))
	if err != nil {
		return err
	}
	for _, f := range list {
		if st, err := f.Info(); err == nil && st.ModTime().Before(since) {
			if err := os.Remove(p.partial(f.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

func (p *photos) whole(sha string) string   { return filepath.Join(p.dir, sha) }
func (p *photos) partial(sha string) string { return filepath.Join(p.dir, "partial", sha) }

func (p *photos) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	sha := r.PathValue("sha")
	if !isSHA256(sha) {
		http.Error(w, "a photo is named by 64 lower-case hex digits, the SHA-256 of its bytes", http.StatusBadRequest)
		return
	}
	if p.erased != nil && p.erased(sha) {
		w.Header().Set("Cache-Control", "no-store")
		http.Error(w, "the shop has erased this photo", http.StatusGone)
		return
	}
	switch r.Method {
	case http.MethodHead:
		p.head(w, sha)
	case http.MethodGet:
		p.get(w, r, sha)
	case http.MethodPatch:
		p.patch(w, r, sha)
	default:
		w.Header().Set("Allow", "GET, HEAD, PATCH")
		http.Error(w, "a photo can be read, or sent piece by piece with PATCH", http.StatusMethodNotAllowed)
	}
}

func isSHA256(s string) bool {
	if len(s) != 64 {
		return false
	}
	for _, c := range []byte(s) {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}

func (p *photos) head(w http.ResponseWriter, sha string) {
	w.Header().Set("Cache-Control", "no-store")
	if !p.take(sha) {
		w.Header().Set("Retry-After", "2")
		w.WriteHeader(http.StatusServiceUnavailable)
		return
	}
	defer p.give(sha)
	// All of it may have come before the server stopped, and not been filed.
	if raw, err := os.ReadFile(p.partial(sha)); err == nil && hexSum(raw) == sha {
		if why, err := p.file(sha); why != "" || err != nil {
			p.log.Warn("A photo that had come whole is not filed: {why} {err}", "photo", sha, "why", why, "err", err)
		}
	}
	if st, err := os.Stat(p.whole(sha)); err == nil {
		setOffset(w, st.Size())
		w.Header().Set("Upload-Length", strconv.FormatInt(st.Size(), 10))
		w.WriteHeader(http.StatusOK)
		return
	}
	st, err := os.Stat(p.partial(sha))
	if err != nil {
		setOffset(w, 0)
		w.WriteHeader(http.StatusNotFound)
		return
	}
	setOffset(w, st.Size())
	w.WriteHeader(http.StatusNoContent)
}

func setOffset(w http.ResponseWriter, n int64) {
	w.Header().Set("Upload-Offset", strconv.FormatInt(n, 10))
}

// get serves a photo inert: its fixed type, no sniffing, no script, and as an
// attachment should anyone open it by itself.
func (p *photos) get(w http.ResponseWriter, r *http.Request, sha string) {
	f, err := os.Open(p.whole(sha))
	if err != nil {
		http.Error(w, "this photo has not arrived at the shop yet", http.StatusNotFound)
		return
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		http.Error(w, "the photo cannot be read", http.StatusInternalServerError)
		return
	}
	var magic [12]byte
	io.ReadFull(f, magic[:])
	kind, ext := pictureType(magic[:])
	if spoken, itsExt := voiceType(magic[:]); spoken != "" {
		kind, ext = spoken, itsExt
	}
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", `attachment; filename="`+sha[:16]+ext+`"`)
	h.Set("Cache-Control", "private, max-age=31536000, immutable") // the name is the content
	h.Set("ETag", `"`+sha+`"`)
	http.ServeContent(w, r, "", st.ModTime(), f)
}

// pictureType tells the three formats by their first bytes: ITU-T T.81
// (SOI), the PNG signature (ISO/IEC 15948 section 5.2), RIFF with WEBP.
func pictureType(b []byte) (kind, ext string) {
	switch {
	case bytes.HasPrefix(b, []byte("\xff\xd8\xff")):
		return "image/jpeg", ".jpg"
	case bytes.HasPrefix(b, []byte("\x89PNG\r\n\x1a\n")):
		return "image/png", ".png"
	case len(b) >= 12 && string(b[:4]) == "RIFF" && string(b[8:12]) == "WEBP":
		return "image/webp", ".webp"
	}
	return "application/octet-stream", ".bin"
}

func (p *photos) patch(w http.ResponseWriter, r *http.Request, sha string) {
	length, err := strconv.ParseInt(r.Header.Get("Upload-Length"), 10, 64)
	if err != nil || length <= 0 {
		http.Error(w, "Upload-Length must give the size of the whole photo in bytes", http.StatusBadRequest)
		return
	}
	if length > maxPhotoBytes {
		http.Error(w, fmt.Sprintf("this photo has %.1f MB; at most %d MB are taken. Send a smaller picture",
			float64(length)/(1<<20), maxPhotoBytes>>20), http.StatusRequestEntityTooLarge)
		return
	}
	offset, err := strconv.ParseInt(r.Header.Get("Upload-Offset"), 10, 64)
	if err != nil || offset < 0 || offset > length {
		http.Error(w, "Upload-Offset must say at which byte of the photo this piece begins", http.StatusBadRequest)
		return
	}
	if !p.take(sha) {
		w.Header().Set("Retry-After", "2")
		http.Error(w, "another piece of this photo is being written; try again", http.StatusServiceUnavailable)
		return
	}
	defer p.give(sha)

	if st, err := os.Stat(p.whole(sha)); err == nil { // sent before, or by another phone
		setOffset(w, st.Size())
		w.WriteHeader(http.StatusCreated)
		return
	}
	have, err := p.append(w, r, sha, offset, length)
	var refused refusal
	switch {
	case errors.As(err, &refused):
		setOffset(w, have)
		http.Error(w, refused.why, refused.code)
	case err != nil:
		p.log.Error("A photo cannot be written: {err}. Its phone keeps it and tries again.", "photo", sha, "err", err)
		setOffset(w, have)
		http.Error(w, "the piece could not be written; try again later", http.StatusServiceUnavailable)
	case have < length:
		setOffset(w, have)
		w.WriteHeader(http.StatusNoContent)
	default:
		p.finish(w, sha)
	}
}

// refusal is an answer to the client with its sentence.
type refusal struct {
	code int
	why  string
}

func (r refusal) Error() string { return r.why }

// append writes one piece and returns how many bytes are on disk after it. A
// body that breaks off is no error: what came is kept, and the answer, if it
// still reaches anyone, says how far.
func (p *photos) append(w http.ResponseWriter, r *http.Request, sha string, offset, length int64) (int64, error) {
	f, err := os.OpenFile(p.partial(sha), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	have, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return 0, err
	}
	if have > length {
		f.Truncate(0)
		have = 0
	}
	if offset != have {
		return have, refusal{http.StatusConflict, fmt.Sprintf("%d bytes are here; go on from there", have)}
	}
	n, err := io.Copy(f, http.MaxBytesReader(w, r.Body, length-have))
	have += n
	var over *http.MaxBytesError
	if errors.As(err, &over) {
		f.Truncate(0)
		return 0, refusal{http.StatusRequestEntityTooLarge, "more bytes came than Upload-Length said; begin again"}
	}
	if syncErr := f.Sync(); syncErr != nil {
		return 0, syncErr
	}
	if file := (*fs.PathError)(nil); errors.As(err, &file) { // not the body: the disk
		return have, err
	}
	return have, nil
}

// finish answers the last piece.
func (p *photos) finish(w http.ResponseWriter, sha string) {
	why, err := p.file(sha)
	switch {
	case why != "":
		p.log.Warn("A photo is refused: {why}", "photo", sha, "why", why)
		setOffset(w, 0)
		http.Error(w, why, http.StatusUnprocessableEntity)
	case err != nil:
		p.log.Error("A photo cannot be filed: {err}. Its phone keeps it and tries again.", "photo", sha, "err", err)
		http.Error(w, "the photo could not be filed; try again later", http.StatusServiceUnavailable)
	default:
		p.log.Debug("A photo is kept.", "photo", sha)
		if st, err := os.Stat(p.whole(sha)); err == nil {
			setOffset(w, st.Size())
		}
		w.WriteHeader(http.StatusCreated)
	}
}

// file checks a photo that is all there and gives it its place, or deletes it
// and answers why.
func (p *photos) file(sha string) (why string, err error) {
	if why := p.check(sha); why != "" {
		return why, os.Remove(p.partial(sha))
	}
	if err := os.Rename(p.partial(sha), p.whole(sha)); err != nil {
		return "", err
	}
	return "", syncDir(p.dir)
}

func hexSum(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// check returns the sentence that refuses the photo, or "".
func (p *photos) check(sha string) string {
	p.look.Lock()
	defer p.look.Unlock()
	raw, err := os.ReadFile(p.partial(sha))
	if err != nil {
		return "the photo cannot be read back; send it again"
	}
	if hexSum(raw) != sha {
		return "the bytes that came are not those of this photo; send it again from the start"
	}
	if kind, _ := voiceType(raw); kind != "" {
		return checkVoice(raw)
	}
	if kind, _ := pictureType(raw); kind == "application/octet-stream" {
		return "this is no JPEG, PNG or WebP picture, and no voice note"
	}
	cfg, _, err := image.DecodeConfig(bytes.NewReader(raw))
	if err != nil {
		return "this picture cannot be decoded: " + err.Error()
	}
	if cfg.Width*cfg.Height > maxPhotoPixels {
		return fmt.Sprintf("this picture has %d x %d pixels; send a smaller one", cfg.Width, cfg.Height)
	}
	if _, _, err := image.Decode(bytes.NewReader(raw)); err != nil {
		return "this picture cannot be decoded: " + err.Error()
	}
	if tellsPlace(raw) {
		return "this picture says where it was taken; strip its location and send it again"
	}
	return ""
}

func (p *photos) take(sha string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.busy[sha] {
		return false
	}
	p.busy[sha] = true
	return true
}

func (p *photos) give(sha string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.busy, sha)
}

// syncDir makes a new or renamed file in dir last through a power cut. Windows
// does so by itself and syncs no folder.
func syncDir(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
