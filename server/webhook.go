package server

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	leads "bayhold/checklist/lead"
	"bayhold/checklist/say"
	"bayhold/sync/logbook"
)

// Webhook is where alarms are told outside the shop: an HTTP POST of JSON,
// signed so that its receiver knows whom it comes from.
//
//	Bayhold-Signature: t=1768339800, v1=HEX
//
// HEX is HMAC-SHA256 (RFC 2104) over the decimal t, a full stop and the body,
// with the key file's bytes as the key. A receiver computes it again, compares
// in constant time, and refuses a t that is old. The same alarm may come twice
// with the same id; it is told when it begins and when it is over.
type Webhook struct {
	URL string
	Key []byte
}

// ReadWebhook reads the key from its file: at least 32 bytes, white space at
// the ends taken off.
func ReadWebhook(address, keyFile string) (*Webhook, error) {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		return nil, fmt.Errorf("the webhook %q is no http or https address", address)
	}
	key, err := os.ReadFile(keyFile)
	if err != nil {
		return nil, fmt.Errorf("the webhook's key: %w", err)
	}
	key = bytes.TrimSpace(key)
	if len(key) < 32 {
		return nil, fmt.Errorf("the webhook's key in %s has %d bytes and needs 32: openssl rand -hex 32 > %s", keyFile, len(key), keyFile)
	}
	return &Webhook{URL: address, Key: key}, nil
}

// The bounds of telling.
const (
	hookTries   = 8
	hookFirst   = 2 * time.Second // the first wait is within this
	hookMost    = 5 * time.Minute // and no wait is longer
	hookTimeout = 10 * time.Second
	hookQueue   = 64 // alarms under way; more are dropped and logged
	watchEvery  = time.Minute
)

// hookBody is what is sent.
type hookBody struct {
	ID     string `json:"id"`
	At     string `json:"at"`
	Shop   string `json:"shop"`
	Kind   string `json:"kind"`  // heater, margin, door, silent
	State  string `json:"state"` // begins, over
	Place  string `json:"place"`
	Job    string `json:"job"`
	Since  string `json:"since,omitempty"`
	By     string `json:"by,omitempty"`
	Fact   string `json:"fact"`
	AtRisk string `json:"at_risk"`
	Do     string `json:"do"`
}

// watch looks at the shop every minute and tells what begins and what is over:
// in the log, and to the webhook if there is one.
type watch struct {
	hook   *Webhook
	log    *slog.Logger
	over   *overview
	queue  chan []byte
	known  map[string]leads.Alarm
	client *http.Client
	sleep  func(ctx context.Context, d time.Duration)
}

func newWatch(hook *Webhook, over *overview, log *slog.Logger) *watch {
	return &watch{hook: hook, log: log, over: over, queue: make(chan []byte, hookQueue), known: map[string]leads.Alarm{},
		client: &http.Client{Timeout: hookTimeout, CheckRedirect: func(*http.Request, []*http.Request) error {
			return http.ErrUseLastResponse // a signed body goes to the address that was given, nowhere else
		}},
		sleep: func(ctx context.Context, d time.Duration) {
			select {
			case <-time.After(d):
			case <-ctx.Done():
			}
		}}
}

// run watches until ctx ends.
func (w *watch) run(ctx context.Context) {
	go w.deliver(ctx)
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for {
		select { // a server that starts has other things to do first
		case <-tick.C:
		case <-ctx.Done():
			return
		}
		if err := w.look(); err != nil {
			w.log.Error("The night watch cannot look over the shop: {err}. Run 'bayhold verify'.", "err", err)
		}
	}
}

// look compares the alarms with those of the last look.
func (w *watch) look() error {
	w.over.mu.Lock()
	defer w.over.mu.Unlock()
	l, err := w.over.now()
	if err != nil {
		return err
	}
	is := map[string]leads.Alarm{}
	for _, a := range l.Alarms() {
		key := a.Kind + logbook.ID(a.Place).String() + logbook.ID(a.Job).String()
		is[key] = a
		if _, ok := w.known[key]; !ok {
			w.tell(l, a, "begins")
		}
	}
	for key, a := range w.known {
		if _, ok := is[key]; !ok {
			w.tell(l, a, "over")
		}
	}
	w.known = is
	return nil
}

// alarmSaid is an alarm in the log: what is, what is at risk, what to do.
const alarmSaid = "{fact} {risk} {do}"

// tell puts an alarm into the queue in plain words and the shop's own time.
func (w *watch) tell(l *leads.Look, a leads.Alarm, state string) {
	zone := zoneOf(l.Shop)
	id, err := uuid.NewV7()
	if err != nil {
		w.log.Error("An alarm cannot be sent out: {err}", "err", err)
		return
	}
	moment := func(ms int64) string {
		if ms == 0 {
			return ""
		}
		return time.UnixMilli(ms).In(zone).Format(time.RFC3339)
	}
	set, _ := l.Shop.Setting()
	place, _ := l.Shop.Place(a.Place)
	if fact := plainly(a.Fact, zone); state == "over" {
		w.log.Info("Over: {fact}", "fact", fact, "ends", alarmSaid)
	} else {
		w.log.Error(alarmSaid, "fact", fact, "risk", plainly(a.Risk, zone), "do", plainly(a.Action, zone))
	}
	if w.hook == nil {
		return
	}
	body, err := json.Marshal(hookBody{ID: id.String(), At: moment(l.Now.Latest), Shop: set.Name, Kind: a.Kind, State: state, Place: place.Name, Job: a.Label,
		Since: moment(a.Since), By: moment(a.By), Fact: plainly(a.Fact, zone), AtRisk: plainly(a.Risk, zone), Do: plainly(a.Action, zone)})
	if err != nil {
		w.log.Error("An alarm cannot be sent out: {err}", "err", err)
		return
	}
	select {
	case w.queue <- body:
	default:
		w.log.Error("An alarm of {place} is not sent out: too many wait. Look whether the webhook's receiver works.", "kind", a.Kind, "place", place.Name)
	}
}

// plainly is a sentence with its marks as metric text and clock times.
func plainly(s string, zone *time.Location) string {
	s = say.Plain(s)
	var b strings.Builder
	for {
		before, rest, found := strings.Cut(s, "⟨t:")
		b.WriteString(before)
		if !found {
			return b.String()
		}
		digits, after, _ := strings.Cut(rest, "⟩")
		if ms, err := strconv.ParseInt(digits, 10, 64); err == nil {
			b.WriteString(time.UnixMilli(ms).In(zone).Format("Mon 15:04"))
		}
		s = after
	}
}

// deliver sends what is queued, one after the other.
func (w *watch) deliver(ctx context.Context) {
	for {
		select {
		case body := <-w.queue:
			w.send(ctx, body)
		case <-ctx.Done():
			return
		}
	}
}

// send tries until the receiver takes it, refuses it, or the tries run out. The
// waits double and are drawn from their whole length, so that a shop's receivers
// do not come back all at once.
func (w *watch) send(ctx context.Context, body []byte) {
	for try := range hookTries {
		again, err := w.once(ctx, body)
		if err == nil {
			return
		}
		if !again || ctx.Err() != nil {
			w.log.Error("An alarm is not sent out: {err}. Look at --webhook and its receiver.", "err", err, "again", again)
			return
		}
		w.log.Warn("An alarm is not sent out yet: {err}. It is tried again.", "try", try+1, "err", err)
		if try+1 < hookTries {
			w.sleep(ctx, time.Duration(rand.Int64N(int64(min(hookFirst<<try, hookMost)))))
		}
	}
	w.log.Error("An alarm was not sent out in {tries} tries and is given up. Look at --webhook and its receiver.", "tries", hookTries)
}

// once sends once; again says that another try may help.
func (w *watch) once(ctx context.Context, body []byte) (again bool, err error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, w.hook.URL, bytes.NewReader(body))
	if err != nil {
		return false, err
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Bayhold-Signature", w.hook.sign(time.Now().Unix(), body))
	resp, err := w.client.Do(req)
	if failed := (*url.Error)(nil); errors.As(err, &failed) {
		return true, failed.Err // without the address, which may hold a secret
	}
	if err != nil {
		return true, err
	}
	io.Copy(io.Discard, io.LimitReader(resp.Body, 1<<16))
	resp.Body.Close()
	switch c := resp.StatusCode; {
	case c/100 == 2:
		return false, nil
	case c/100 == 5 || c == http.StatusRequestTimeout || c == http.StatusTooManyRequests:
		return true, fmt.Errorf("the receiver answered %s", resp.Status)
	default:
		return false, fmt.Errorf("the receiver refused it: %s", resp.Status)
	}
}

// sign is the header's value.
func (h *Webhook) sign(unix int64, body []byte) string {
	mac := hmac.New(sha256.New, h.Key)
	mac.Write(strconv.AppendInt(nil, unix, 10))
	mac.Write([]byte{'.'})
	mac.Write(body)
	return "t=" + strconv.FormatInt(unix, 10) + ", v1=" + hex.EncodeToString(mac.Sum(nil))
}
