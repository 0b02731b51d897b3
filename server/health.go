package server

import (
	"context"
	"encoding/json"
	"net/http"
	"time"

	"bayhold/sync/session"
)

// version tells which bundle the server would give a page now, and the number of
// the session protocol that its end speaks.
func (s *Server) version(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	writeJSON(w, http.StatusOK, map[string]any{"bundle": s.app.bundle, "protocol": session.Protocol})
}

// healthz answers 200 if the store can be read and the writer takes work, and
// 503 with the reason otherwise.
func (s *Server) healthz(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	ctx, cancel := context.WithTimeout(r.Context(), 2*time.Second)
	defer cancel()
	if err := s.store.Check(); err != nil {
		writeJSON(w, http.StatusServiceUnavailable, map[string]any{"ok": false, "why": "the store cannot be read: " + err.Error()})
		return
	}
	if err := s.writer.alive(ctx); err != nil {
		writeJSON(w, http.StatusServiceUnavailable, map[string]any{"ok": false, "why": "the writer does not answer: " + err.Error()})
		return
	}
	writeJSON(w, http.StatusOK, map[string]any{"ok": true, "entries": s.store.Entries(), "phones": s.hub.count()})
}

func writeJSON(w http.ResponseWriter, code int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	json.NewEncoder(w).Encode(v)
}
