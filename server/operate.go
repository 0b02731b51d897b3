package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"time"

	bolt "go.etcd.io/bbolt"
)

// operateSocket is the socket in the data folder at which a running server
// answers the commands of the machine's owner. The server holds the store's
// lock, so backup, verify and export cannot read the file beside it; they ask
// here for a copy of one moment. Whoever may open the socket may read the file
// too, so nobody has to prove more.
//
//	GET  /store           the store as it is now, byte for byte a file that opens
//	POST /adopt?sum=&as=  adopts what was set aside in the name of a lead
//	POST /forget?job=&person=&due=&as=  erases in the name of a lead (forget.go)
//	POST /invite?role=    an invitation for a phone (member.go)
//	POST /backup?to=&why= that a backup was made, or why it was not
const operateSocket = "operate.sock"

// copyWait is how long a reader of a copy may take none of it: while it reads,
// the store cannot use the pages again that it gives up.
const copyWait = time.Minute

// serveOperator listens at the socket, and returns what ends it. Without the
// socket (its path may be too long for the system) the shop works all the same.
func (s *Server) serveOperator() (stop func()) {
	path := filepath.Join(s.cfg.Data, operateSocket)
	if os.Remove(path) == nil { // the store's lock is ours
		s.log.Warn("The server before was not stopped in good order: power cut, or killed. What phones were told is kept is here.")
	}
	ln, err := net.Listen("unix", path)
	if err == nil {
		err = os.Chmod(path, 0o600)
	}
	if err != nil {
		if ln != nil {
			ln.Close()
		}
		s.log.Error("Backup, verify and export have to wait until this server stops: {err}. A data folder with a shorter path mends it.", "err", err)
		return func() {}
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /store", s.copyStore)
	mux.HandleFunc("POST /adopt", s.adoptFor)
	mux.HandleFunc("POST /invite", s.ownerInvites)
	mux.HandleFunc("POST /forget", s.forgetFor)
	mux.HandleFunc("POST /backup", s.backedUp)
	srv := &http.Server{Handler: mux, ReadHeaderTimeout: 5 * time.Second}
	go srv.Serve(ln)
	return func() {
		srv.Close()
		ln.Close() // before Serve has begun srv does not know it, and a caller would be taken and dropped
	}
}

// copyStore answers a copy of the store as one moment left it. Lines that come
// meanwhile are taken as ever.
func (s *Server) copyStore(w http.ResponseWriter, r *http.Request) {
	err := s.store.db.View(func(tx *bolt.Tx) error {
		w.Header().Set("Content-Length", strconv.FormatInt(tx.Size(), 10))
		_, err := tx.WriteTo(patient{w, http.NewResponseController(w)})
		return err
	})
	if err != nil {
		s.log.Warn("A copy of the store was not read to its end: {err}", "err", err)
	}
}

// backedUp says in the log what a backup came to: nobody reads what a command
// says that runs by itself at night.
func (s *Server) backedUp(w http.ResponseWriter, r *http.Request) {
	if why := r.FormValue("why"); why != "" {
		s.log.Error("No backup was made into {to}: {why}", "to", r.FormValue("to"), "why", why)
	} else {
		s.log.Info("A backup was made into {to}.", "to", r.FormValue("to"))
	}
	w.WriteHeader(http.StatusNoContent)
}

// patient writes as long as each piece is taken within copyWait.
type patient struct {
	io.Writer
	socket *http.ResponseController
}

func (p patient) Write(b []byte) (int, error) {
	p.socket.SetWriteDeadline(time.Now().Add(copyWait))
	return p.Writer.Write(b)
}

// askServer makes a request of the server that runs on a data folder. nil says
// that none runs there.
func askServer(data, method, path string, body io.Reader) (*http.Response, error) {
	conn, err := net.Dial("unix", filepath.Join(data, operateSocket))
	if err != nil {
		return nil, nil
	}
	r, err := http.NewRequest(method, "http://shop"+path, body)
	if err != nil {
		conn.Close()
		return nil, err
	}
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true,
		DialContext: func(context.Context, string, string) (net.Conn, error) { return conn, nil }}}
	resp, err := client.Do(r)
	if err != nil {
		return nil, fmt.Errorf("the server on %s does not answer: %w", data, err)
	}
	return resp, nil
}

// copyTo writes a copy of a data folder's store, of one moment, whether or not
// a server runs on it.
func copyTo(data string, w io.Writer) error {
	resp, err := askServer(data, "GET", "/store", nil)
	if err != nil {
		return err
	}
	if resp == nil {
		st, err := ReadStore(filepath.Join(data, StoreFile))
		if err != nil {
			return err
		}
		defer st.Close()
		return st.db.View(func(tx *bolt.Tx) error { _, err := tx.WriteTo(w); return err })
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return fmt.Errorf("the server on %s gives no copy of its store: %s", data, resp.Status)
	}
	if _, err := io.Copy(w, resp.Body); err != nil { // a short one is an error: it has a length
		return fmt.Errorf("the copy of the store broke off: %w", err)
	}
	return nil
}

// Look opens the store of a data folder or of a backup to read it. Beside a
// running server it is a copy of this moment, in the system's folder for
// temporary files, that goes away with Close.
func Look(data string) (*Store, error) {
	if _, err := os.Stat(filepath.Join(data, operateSocket)); err != nil {
		return ReadStore(filepath.Join(data, StoreFile))
	}
	f, err := os.CreateTemp("", "bayhold-*.db")
	if err != nil {
		return nil, err
	}
	var st *Store
	err = errors.Join(copyTo(data, f), f.Close())
	if err == nil {
		st, err = ReadStore(f.Name())
	}
	if err != nil {
		os.Remove(f.Name())
		return nil, err
	}
	st.borrowed = f.Name()
	return st, nil
}
