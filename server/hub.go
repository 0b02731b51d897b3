package server

import (
	"maps"
	"slices"
	"sync"
	"time"

	"bayhold/sync/logbook"
)

// maxSessions is how many phones are served at once: far more than a shop has,
// and few enough for a small machine's memory and files.
const maxSessions = 4096

// maxConnections is how many connections are open at once, sockets of phones and
// requests together. Another one waits until one ends, and none that says nothing
// lasts: see the deadlines of the server.
const maxConnections = maxSessions + 1024

// hub knows the sessions that are connected.
type hub struct {
	mu       sync.Mutex
	sessions map[*wsSession]struct{}
	closed   bool
	quit     chan struct{}
	empty    chan struct{} // closed when the hub is closed and the last session is gone

	grown map[logbook.Log]bool // logbooks that a crowd is told of when the timer ends
	timer *time.Timer          // nil: nobody was told lately
}

// A crowd is told of new lines four times a second: of the first at once, and of
// what comes meanwhile together. To wake two thousand phones for every line of
// a hundred a second would leave no time to judge the lines.
const (
	crowdFrom = 200 // phones
	crowdWait = 250 * time.Millisecond
)

func newHub() *hub {
	return &hub{sessions: map[*wsSession]struct{}{}, grown: map[logbook.Log]bool{}, quit: make(chan struct{}), empty: make(chan struct{})}
}

// add takes a session in; false if the server is closing.
func (h *hub) add(s *wsSession) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		return false
	}
	h.sessions[s] = struct{}{}
	return true
}

func (h *hub) remove(s *wsSession) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.sessions, s)
	h.atRest()
}

// atRest is called with the lock held after anything that may have emptied a
// closed hub.
func (h *hub) atRest() {
	if h.closed && len(h.sessions) == 0 {
		select {
		case <-h.empty:
		default:
			close(h.empty)
		}
	}
}

func (h *hub) all() []*wsSession {
	h.mu.Lock()
	defer h.mu.Unlock()
	out := make([]*wsSession, 0, len(h.sessions))
	for s := range h.sessions {
		out = append(out, s)
	}
	return out
}

func (h *hub) count() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.sessions)
}

// poke tells every session that logbooks have new lines on disk, a crowd a
// moment later. It never waits for one: each reads the store in its own time.
func (h *hub) poke(grown []logbook.Log) {
	h.mu.Lock()
	if len(grown) == 0 || h.timer != nil {
		for _, log := range grown {
			h.grown[log] = true
		}
		h.mu.Unlock()
		return
	}
	if len(h.sessions) >= crowdFrom {
		h.timer = time.AfterFunc(crowdWait, h.pokeGathered)
	}
	h.mu.Unlock()
	h.pokeAll(grown)
}

// pokeGathered tells the crowd of what has come since it was told last.
func (h *hub) pokeGathered() {
	h.mu.Lock()
	grown := slices.Collect(maps.Keys(h.grown))
	clear(h.grown)
	h.timer = nil
	if len(grown) > 0 {
		h.timer = time.AfterFunc(crowdWait, h.pokeGathered)
	}
	h.mu.Unlock()
	h.pokeAll(grown)
}

func (h *hub) pokeAll(grown []logbook.Log) {
	if len(grown) == 0 {
		return
	}
	for _, s := range h.all() {
		s.poke(grown)
	}
}

// live hands every session a value that is not stored.
func (h *hub) live(log logbook.Log, body []byte) {
	for _, s := range h.all() {
		s.live(log, body)
	}
}

// sweep closes silent sockets until the hub closes.
func (h *hub) sweep(clock func() int64) {
	tick := time.NewTicker(5 * time.Second)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			h.drop(clock())
		case <-h.quit:
			return
		}
	}
}

// drop closes the sockets that are silent at a moment.
func (h *hub) drop(now int64) {
	for _, s := range h.all() {
		if s.silent(now) {
			s.end("silent")
		}
	}
}

// close says goodbye to every session, waits a moment for the phones to hear
// it, and takes no more.
func (h *hub) close() {
	h.mu.Lock()
	if h.closed {
		h.mu.Unlock()
		return
	}
	h.closed = true
	close(h.quit)
	h.atRest()
	h.mu.Unlock()
	for _, s := range h.all() {
		s.bye("The shop server is stopping.", restartWait)
	}
	select {
	case <-h.empty:
	case <-time.After(goodbyeWait):
	}
	for _, s := range h.all() {
		s.end("the server stops")
	}
}

const (
	restartWait = 2000            // ms until phones are asked to come back after a planned stop
	goodbyeWait = 2 * time.Second // for sockets to end by themselves
)
