// Package daylog prints what a server has to say for the one who owns the shop:
// the hour, what happened, and what to do, one line each.
//
//	Wednesday 14 January 2026
//	07:31  Phone "Bay 2" joined as crew.
//	09:14  Needs you: Disk full: no new lines are taken; phones keep theirs. ...
//
// It is a handler of log/slog. A message is the sentence, with the names of its
// attributes in braces where their values stand:
//
//	log.Info(`Phone "{phone}" joined as {role}.`, "phone", name, "role", role)
//
// The levels say who is meant. An error needs the owner, and is marked so in
// words; news (info) and what was refused or put right (warn) are not; debug is
// for who mends the program, and shows the attributes that no sentence names.
//
// What happens again and again, because a phone comes back each half minute or
// somebody outside wants it so, is said once an hour: the same sentence that is
// no news, and then how often it came meanwhile. News that ends such a state
// names its message as the attribute "ends"; from then on it is said anew.
//
// Values come from outside. Whatever stands in them stays in its place on its
// line: control characters, signs that turn the direction of writing and line
// ends become spaces, quotation marks become single ones, long ones are cut.
package daylog

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"regexp"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"
)

const (
	again   = time.Hour // after which the same sentence is said again
	longest = 300       // characters of a value
	most    = 1000      // sentences that are remembered
)

// Handler prints for people.
type Handler struct {
	level slog.Level
	zone  *time.Location
	attrs []slog.Attr
	*paper
}

// paper is what all handlers of one log write on.
type paper struct {
	mu   sync.Mutex
	out  io.Writer
	day  string
	said map[sentence]*count
}

type sentence struct{ message, text string }

type count struct {
	since time.Time
	more  int
}

// New prints what is of the level or above, with the hours of a zone.
func New(out io.Writer, level slog.Level, zone *time.Location) *Handler {
	return &Handler{level: level, zone: zone, paper: &paper{out: out, said: map[sentence]*count{}}}
}

func (h *Handler) Enabled(_ context.Context, l slog.Level) bool { return l >= h.level }

func (h *Handler) WithAttrs(attrs []slog.Attr) slog.Handler {
	with := *h
	with.attrs = append(append([]slog.Attr(nil), h.attrs...), attrs...)
	return &with
}

// WithGroup changes nothing: a sentence has one name for each of its values.
func (h *Handler) WithGroup(string) slog.Handler { return h }

var named = regexp.MustCompile(`\{[a-z]+\}`)

func (h *Handler) Handle(_ context.Context, r slog.Record) error {
	values := map[string]string{}
	var rest []string
	var ends string
	take := func(a slog.Attr) bool {
		values[a.Key] = h.value(a.Value)
		if a.Key == "ends" {
			ends = a.Value.String()
		} else if !strings.Contains(r.Message, "{"+a.Key+"}") {
			rest = append(rest, a.Key+"="+values[a.Key])
		}
		return true
	}
	for _, a := range h.attrs {
		take(a)
	}
	r.Attrs(take)
	text := onLine(named.ReplaceAllStringFunc(r.Message, func(name string) string {
		if v, ok := values[name[1:len(name)-1]]; ok {
			return v
		}
		return "(not known)"
	}))
	if !strings.HasSuffix(text, ".") {
		text += "." // an error of Go's has none
	}
	if r.Level >= slog.LevelError {
		text = "Needs you: " + text
	}
	if h.level < slog.LevelInfo && len(rest) > 0 {
		text += " [" + strings.Join(rest, " ") + "]"
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	now := r.Time.In(h.zone)
	for s := range h.said {
		if s.message == ends {
			delete(h.said, s)
		}
	}
	if r.Level > slog.LevelInfo && h.level >= slog.LevelInfo {
		if text = h.once(sentence{r.Message, text}, now); text == "" {
			return nil
		}
	}
	line := now.Format("15:04") + "  " + text + "\n"
	if day := now.Format("Monday 2 January 2006"); day != h.day {
		h.day, line = day, day+"\n"+line
	}
	_, err := io.WriteString(h.out, line)
	return err
}

// once is the text to say, or "" if it was said lately.
func (p *paper) once(s sentence, now time.Time) string {
	c, known := p.said[s]
	if known && now.Sub(c.since) < again {
		c.more++
		return ""
	}
	if len(p.said) >= most {
		clear(p.said)
	}
	p.said[s] = &count{since: now}
	if known && c.more > 0 {
		return fmt.Sprintf("%s (%d times more since %s)", s.text, c.more, c.since.Format("15:04"))
	}
	return s.text
}

// value is an attribute's value as it may stand in a sentence.
func (h *Handler) value(v slog.Value) string {
	v = v.Resolve()
	if v.Kind() == slog.KindAny && v.Any() == nil {
		return "" // no error
	}
	if v.Kind() == slog.KindTime {
		return v.Time().In(h.zone).Format("2 January 2006")
	}
	s := strings.ReplaceAll(onLine(v.String()), `"`, "'")
	if utf8.RuneCountInString(s) > longest {
		s = string([]rune(s)[:longest]) + "..."
	}
	return s
}

// onLine makes of a text one line that no terminal obeys.
func onLine(s string) string {
	return strings.Join(strings.Fields(strings.Map(func(c rune) rune {
		if !unicode.IsPrint(c) {
			return ' '
		}
		return c
	}, s)), " ")
}
