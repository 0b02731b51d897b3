package server

import (
	"errors"
	"path/filepath"
)

// What the log says when the disk takes no more lines, and when it does again.
// Phones come back each half minute meanwhile; the log says it once an hour
// (package daylog).

// roomy is how much room a disk has that is not full any more: on the last pages
// of one a small line is kept now and then.
const roomy = 1 << 20

const (
	diskFull  = "Disk full: no new lines are taken; phones keep theirs. Make room on the disk of {folder}, the rest goes by itself."
	diskFails = "No new lines are taken; phones keep theirs: {err}. Look at the disk of {folder}."
)

// refuses says why a round of the writer came to nothing.
func (w *writer) refuses(err error) {
	w.refusing = diskFails
	folder := filepath.Dir(w.store.Path())
	if free, none := diskFree(folder); errors.Is(err, errNoRoom) || none == nil && free < roomy {
		w.refusing = diskFull
	}
	w.log.Error(w.refusing, "folder", folder, "err", err)
}

// takes is called when lines were kept.
func (w *writer) takes() {
	if w.refusing == "" {
		return
	}
	if free, err := diskFree(filepath.Dir(w.store.Path())); err == nil && free < roomy {
		return
	}
	w.log.Info("Lines are taken again. Phones bring what they kept.", "ends", w.refusing)
	w.refusing = ""
}

// noWrite says what a person asked for in vain; why is said by refuses.
func (s *Server) noWrite(what string, err error) {
	s.log.Warn("{what} cannot be written just now. Nothing changed.", "what", what, "err", err)
}
