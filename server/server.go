package server

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io/fs"
	"log"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/net/netutil"

	"bayhold/sync/logbook"
)

// Config is what a server needs to know. The zero value of a field that is
// not said to be required takes its default.
type Config struct {
	Data string // required: folder of the store and the photos; made if missing
	Addr string // HOST:PORT to listen at; "localhost:8080"

	// Name is the host name that phones reach the shop at, beside localhost and
	// private addresses. Requests for another one are refused. With a name, and
	// wherever other machines reach the server, a phone has to join the shop
	// first, and that takes TLS.
	Name string

	TLS *tls.Config // nil: plain HTTP, at localhost alone

	// What phones that live at an address which the shop has left can still be
	// given (origin.go).
	Proves    func(name string) bool     // TLS proves this earlier name of the shop; nil: none
	Began     time.Time                  // when phones could first trust the present name's root
	Addresses func() ([]net.Addr, error) // the machine's; net.InterfaceAddrs
	PagePort  string                     // of the page over plain HTTP that brings the certificate; "": there is none

	Log *slog.Logger
	Now func() time.Time // the shop's clock; time.Now

	LoggerKeys LoggerKeys // what loggers prove their bay with; nil: nothing
	Webhook    *Webhook   // where alarms are told; nil: nowhere

	// What a new store begins with, instead of the binary's default rules.
	Shop logbook.ID // the shop's logbook; zero: one of its own
	Seed []Dated

	App    fs.FS // the phone's app; nil: the one in this binary, package pwa's
	Worker []byte
	Bundle string
}

func (c Config) withDefaults() Config {
	if c.Addr == "" {
		c.Addr = "localhost:8080"
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Addresses == nil {
		c.Addresses = net.InterfaceAddrs
	}
	return c
}

// Server is one shop server: its store, its one writer, its sessions.
type Server struct {
	cfg     Config
	log     *slog.Logger
	store   *Store
	writer  *writer
	app     *app
	hub     *hub
	photos  *photos
	windows *windows
	over    *overview
	past    *past
	draws   *draws
	clock   func() int64 // ms, never going back
	closed  bool         // to phones that have not joined
	members *members
	pins    pins
	grants  *grants
	proofs  atomic.Int64 // sockets that have proven nothing yet
	owners  owners       // those of vehicles, who come by link
	http    *http.Server
	ln      net.Listener
	again   []net.Listener // at ports that phones still go to
	most    int            // connections at once, at each of them
	ports   []string       // theirs
	elder   bool           // phones at addresses trust an earlier root alone
	stop    func()         // ends what runs beside requests
	operate func()         // ends what is served to the machine's owner alone
	sealing sync.Mutex     // held while a record is made

	cleaning sync.Mutex // held while the disk is cleaned after an erasure
}

// Open opens the store, writes what a first start writes, and makes the
// server ready to serve. Close it when done, whether or not it ran.
func Open(cfg Config) (*Server, error) {
	cfg = cfg.withDefaults()
	local, err := cfg.local()
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(cfg.Data, 0o700); err != nil {
		return nil, fmt.Errorf("making the data folder: %w", err)
	}
	if err := wholeRestore(cfg.Data); err != nil {
		return nil, err
	}
	began := time.Now()
	store, err := OpenStore(filepath.Join(cfg.Data, StoreFile), cfg.Shop, cfg.Now)
	if err != nil {
		return nil, err
	}
	s := &Server{cfg: cfg, log: cfg.Log, most: maxConnections, store: store, clock: forwards(cfg.Now), closed: !local}
	if err := s.build(); err != nil {
		store.Close()
		return nil, err
	}
	// The names of what was made have to last too, before a phone is told that
	// anything is kept.
	if err := errors.Join(syncDir(s.photos.dir), syncDir(cfg.Data), syncDir(filepath.Dir(cfg.Data))); err != nil {
		return nil, errors.Join(fmt.Errorf("the data folder cannot be synced: %w", err), s.Close())
	}
	if n := s.returning(); s.closed && n > 0 {
		s.log.Error("This store came from a backup, which knows nothing of phones that were taken off since. "+
			"Phones that have to join again, by an invitation: {phones}. What is on them stays.", "phones", n)
	}
	s.log.Info("The shop's store is open and holds {entries} lines.", "entries", store.Entries(), "file", store.Path(), "logbooks", len(store.Heads()),
		"ms", time.Since(began).Milliseconds())
	return s, nil
}

func (s *Server) build() error {
	var err error
	if s.cfg.App == nil {
		s.app, err = embedded()
	} else {
		s.app, err = newApp(s.cfg.App, s.cfg.Worker, s.cfg.Bundle)
	}
	if err != nil {
		return err
	}
	if s.photos, err = newPhotos(filepath.Join(s.cfg.Data, photoFolder), s.log); err != nil {
		return err
	}
	s.hub = newHub()
	if s.writer, err = startWriter(s.store, s.hub, s.log, s.clock, s.closed); err != nil {
		return err
	}
	if err = s.writer.firstStart(s.cfg.Seed); err == nil {
		s.windows, err = newWindows(s.store, s.writer, s.log)
	}
	if err != nil {
		s.writer.stop()
		return err
	}
	if s.members, err = newMembers(s.store); err != nil {
		s.writer.stop()
		return err
	}
	s.elder = s.trustElder()
	if s.grants, err = newGrants(s.store); err != nil {
		s.writer.stop()
		return err
	}
	s.over = newOverview(s.store, s.log, s.clock)
	s.past = newPast(s.store, s.clock)
	s.draws = newDraws(s.store)
	ctx, stop := context.WithCancel(context.Background())
	s.stop = stop
	go newWatch(s.cfg.Webhook, s.over, s.log).run(ctx)
	s.photos.erased = s.store.Erased
	go s.cleaner(ctx)
	go s.windows.run(ctx, s.clock)
	go s.hub.sweep(s.clock)
	s.operate = s.serveOperator()
	s.http = &http.Server{
		Handler:           s.handler(),
		TLSConfig:         s.cfg.TLS,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       2 * time.Minute, // a piece of a photo over poor wifi
		WriteTimeout:      2 * time.Minute,
		IdleTimeout:       90 * time.Second,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          log.New(overheard{s.log}, "", 0),
	}
	return nil
}

func (s *Server) handler() http.Handler {
	return atOwnName(guarded(s.routes()), append(s.OldNames(), s.cfg.Name)...)
}

// routes is the table of what the server answers: to anyone, to phones that
// joined, and to the lead's. A logger proves its bay by a key (logger.go).
func (s *Server) routes() *http.ServeMux {
	mux := http.NewServeMux()
	mux.Handle("/", s.app)
	mux.HandleFunc("GET /version", s.version)
	mux.HandleFunc("GET /healthz", s.healthz)
	mux.HandleFunc("GET /ws", s.ws)
	mux.Handle("/photos/{sha}", s.joined(s.photos.ServeHTTP))
	mux.HandleFunc("POST /climate/{place}", s.climate)
	mux.HandleFunc("POST /climate/{place}/file", s.climateFile)
	mux.Handle("GET /lead", s.joined(s.lead))
	mux.Handle("GET /register", s.joined(s.register))
	mux.Handle("GET /hours", s.joined(s.hours))
	mux.Handle("GET /air/{place}", s.joined(s.air))
	mux.Handle("GET /plan.ics", s.joined(s.planICS))
	mux.Handle("GET /find", s.joined(s.find))
	mux.Handle("GET /may/move", s.joined(s.mayMove))
	mux.Handle("GET /may/light", s.joined(s.mayLight))
	mux.Handle("POST /spare", s.joined(s.spare))
	mux.Handle("GET /drops", s.joined(s.drops))
	mux.Handle("GET /removal/{job}", s.joined(s.removal))
	mux.Handle("GET /record/{job}", s.joined(s.record))
	mux.Handle("GET /spots", s.joined(s.spots))
	mux.Handle("GET /learn", s.leads(s.learn))
	mux.Handle("GET /learn.csv", s.leads(s.learnCSV))
	mux.Handle("GET /card/{job}", s.joined(s.card))
	mux.Handle("GET /cards.pdf", s.joined(s.cards))
	s.ownerRoutes(mux)
	if s.closed {
		mux.HandleFunc("POST /join", s.join)
		mux.HandleFunc("POST /pass", s.pass)
		mux.Handle("POST /invite", s.leads(s.invite))
		mux.HandleFunc("GET /calendar/{secret}/plan.ics", s.calendar)
		mux.Handle("GET /grants", s.leads(s.listGrants))
		mux.Handle("POST /grants", s.leads(s.makeGrant))
		mux.Handle("POST /grants/{id}/off", s.leads(s.endGrant))
		mux.Handle("POST /pin", s.leads(s.setPIN))
		mux.Handle("GET /pin", s.leads(s.listPINs))
		mux.Handle("POST /pin/use", s.phones(s.usePIN))
		mux.Handle("GET /devices", s.leads(s.devices))
		mux.Handle("GET /origins", s.leads(s.origins))
		mux.Handle("POST /move", s.joined(s.move))
		mux.Handle("POST /devices/{id}/off", s.leads(s.takeOff))
	}
	return mux
}

// overheard takes what net/http says by itself. A handler's panic is a fault of
// ours; the rest is about strangers' handshakes and broken sockets.
type overheard struct{ log *slog.Logger }

func (o overheard) Write(line []byte) (int, error) {
	if bytes.HasPrefix(line, []byte("http: panic")) {
		what, stack, _ := strings.Cut(string(line), "\n")
		o.log.Error("A request met a fault of this program: {what}. Nothing is lost. Please report it.", "what", what, "stack", stack)
	} else {
		o.log.Debug("{what}", "what", string(line))
	}
	return len(line), nil
}

// Handler answers every request; tests serve it by themselves.
func (s *Server) Handler() http.Handler { return s.http.Handler }

// Listen takes the address. Addr is known afterwards.
func (s *Server) Listen() error {
	ln, err := net.Listen("tcp", s.cfg.Addr)
	if err != nil {
		return fmt.Errorf("cannot listen at %s: %w", s.cfg.Addr, err)
	}
	s.ln = ln
	s.listenAgain()
	return nil
}

// Addr is where the server listens, for a configured port 0 too.
func (s *Server) Addr() string { return s.ln.Addr().String() }

// Run serves until ctx ends, then closes the server. It listens first if
// Listen was not called.
func (s *Server) Run(ctx context.Context) error {
	if s.ln == nil {
		if err := s.Listen(); err != nil {
			return errors.Join(err, s.Close())
		}
	}
	served := make(chan error, 1+len(s.again))
	for _, ln := range append(s.again, s.ln) {
		ln = netutil.LimitListener(ln, s.most)
		go func() {
			if s.cfg.TLS != nil {
				served <- s.http.ServeTLS(ln, "", "")
			} else {
				served <- s.http.Serve(ln)
			}
		}()
	}
	s.log.Info("Phones are answered now.", "addr", s.Addr())
	select {
	case <-ctx.Done():
		return s.Close()
	case err := <-served:
		return errors.Join(fmt.Errorf("serving: %w", err), s.Close())
	}
}

// Close ends the sessions, lets running requests finish for a moment, writes
// what waits, and closes the store. Nothing that was said to be kept is lost
// without it either.
func (s *Server) Close() error {
	s.hub.close()
	s.stop()
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
	defer cancel()
	err := s.http.Shutdown(ctx)
	if err != nil {
		err = s.http.Close()
	}
	s.operate()
	s.writer.stop()
	s.log.Info("Stopped in good order.")
	return errors.Join(err, s.store.Close())
}

// local says that nobody has to join: the server is at localhost, where only
// this machine reaches it, and has no name that others would know it by. It
// refuses an address that others reach over plain HTTP: a phone could prove
// nothing there, for its browser makes no keys outside a secure origin.
func (c Config) local() (bool, error) {
	host, _, err := net.SplitHostPort(c.Addr)
	if err != nil {
		return false, fmt.Errorf("the address %q is not HOST:PORT: %w", c.Addr, err)
	}
	ip := net.ParseIP(host)
	here := host == "localhost" || ip != nil && ip.IsLoopback()
	if !here && c.TLS == nil {
		return false, fmt.Errorf("other machines can reach %s, and a phone joins over HTTPS only: "+
			"say --name shop.local, or serve at localhost", c.Addr)
	}
	return here && c.Name == "", nil
}

// forwards is a clock that stands still while the machine's is set back:
// everything that phones were told about time stays true.
func forwards(now func() time.Time) func() int64 {
	var last atomic.Int64
	return func() int64 {
		for {
			before, ms := last.Load(), now().UnixMilli()
			if ms <= before {
				return before
			}
			if last.CompareAndSwap(before, ms) {
				return ms
			}
		}
	}
}
