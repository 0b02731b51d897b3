package daylog

import (
	"bytes"
	"errors"
	"log/slog"
	"strings"
	"testing"
	"time"
)

// at is a log whose records are of the moments that the test says.
type at struct {
	slog.Handler
	out bytes.Buffer
}

func newAt(level slog.Level) *at {
	a := &at{}
	a.Handler = New(&a.out, level, time.FixedZone("shop", 3600))
	return a
}

func (a *at) say(utc string, level slog.Level, msg string, attrs ...any) {
	t, err := time.Parse("2006-01-02 15:04", utc)
	if err != nil {
		panic(err)
	}
	r := slog.NewRecord(t, level, msg, 0)
	r.Add(attrs...)
	if a.Enabled(nil, level) {
		a.Handle(nil, r)
	}
}

func (a *at) said(t *testing.T, want ...string) {
	t.Helper()
	if got := strings.TrimSuffix(a.out.String(), "\n"); got != strings.Join(want, "\n") {
		t.Errorf("said:\n%s\nwant:\n%s", got, strings.Join(want, "\n"))
	}
	a.out.Reset()
}

// A sentence has its values where they belong, the hour of the shop, and the day
// once. What no sentence names is for who mends the program; a value that is
// missing is said to be.
func TestSentence(t *testing.T) {
	a := newAt(slog.LevelInfo)
	a.say("2026-01-14 06:31", slog.LevelInfo, `Phone "{phone}" joined as {role}.`, "role", "crew", "phone", "Bay 2", "remote", "192.168.1.7:5000")
	a.say("2026-01-14 06:32", slog.LevelDebug, "Round.")
	a.say("2026-01-14 06:33", slog.LevelWarn, "Refused: {why} {err}", "why", "no photo", "err", nil)
	a.say("2026-01-14 22:59", slog.LevelError, "{what} is lost: {err}", "err", errors.New("no way"))
	a.say("2026-01-14 23:00", slog.LevelWarn, "Good until {until}.", "until", time.Date(2026, 3, 1, 23, 30, 0, 0, time.UTC))
	a.said(t, "Wednesday 14 January 2026",
		`07:31  Phone "Bay 2" joined as crew.`,
		"07:33  Refused: no photo.",
		"23:59  Needs you: (not known) is lost: no way.",
		"Thursday 15 January 2026",
		"00:00  Good until 2 March 2026.")

	a = newAt(slog.LevelDebug)
	with := slog.New(a.Handler).With("phone", "first", "remote", "192.168.1.7:5000")
	a.Handler = with.Handler()
	a.say("2026-01-14 06:31", slog.LevelDebug, "{phone} left.", "phone", "second", "tasks", 3)
	a.said(t, "Wednesday 14 January 2026", "07:31  second left. [remote=192.168.1.7:5000 tasks=3]")
}

// The same sentence, if it is no news, is said once an hour, and counted; what
// ends a state is news, and the state is said anew when it comes again.
func TestSaidOnceAnHour(t *testing.T) {
	const full, back = "Disk of {folder} full.", "Lines are taken again."
	a := newAt(slog.LevelInfo)
	for range 3 {
		a.say("2026-01-14 06:00", slog.LevelError, full, "folder", "/srv")
		a.say("2026-01-14 06:10", slog.LevelWarn, "Turned away: {why}", "why", "no code")
		a.say("2026-01-14 06:10", slog.LevelInfo, "Joined.")
	}
	a.say("2026-01-14 06:59", slog.LevelError, full, "folder", "/srv")
	a.say("2026-01-14 07:00", slog.LevelError, full, "folder", "/srv")
	a.say("2026-01-14 07:01", slog.LevelInfo, back, "ends", full)
	a.say("2026-01-14 07:02", slog.LevelError, full, "folder", "/srv")
	a.said(t, "Wednesday 14 January 2026",
		"07:00  Needs you: Disk of /srv full.",
		"07:10  Turned away: no code.",
		"07:10  Joined.", "07:10  Joined.", "07:10  Joined.",
		"08:00  Needs you: Disk of /srv full. (3 times more since 07:00)",
		"08:01  Lines are taken again.",
		"08:02  Needs you: Disk of /srv full.")

	// Sentences that somebody outside makes up are not remembered without end.
	for i := range 3 * most {
		a.say("2026-01-14 08:00", slog.LevelWarn, "From {remote}.", "remote", i)
	}
	if n := len(a.Handler.(*Handler).said); n > most {
		t.Errorf("%d sentences are remembered", n)
	}
}

// Whatever stands in a value, a line stays one line, its mark stays ours, and no
// terminal obeys it (ECMA-48 control sequences; Unicode TR 36 section 2.11 on
// signs that turn the direction of writing).
func TestHarmless(t *testing.T) {
	for in, want := range map[string]string{
		"Bay 2\n07:00  Needs you: pay": "Bay 2 07:00 Needs you: pay",
		"\x1b[2J\x1b]0;title\a":        "[2J ]0;title",
		"a\r\nb\tc\x00d\x7f":           "a b c d",
		"\u202egnp.exe\u2066":          "gnp.exe",
		"\u009b31m":                    "31m", // CSI as one sign
		"a\u2028b\u0085c":              "a b c",
		`x" joined as lead. "`:         "x' joined as lead. '",
		"\xff\xfe":                     "\ufffd\ufffd",
		"{role}":                       "{role}",
		strings.Repeat("é", 400):       strings.Repeat("é", 300) + "...",
	} {
		a := newAt(slog.LevelInfo)
		a.say("2026-01-14 06:31", slog.LevelInfo, `Phone "{phone}" joined as {role}.`, "phone", in, "role", "crew")
		a.said(t, "Wednesday 14 January 2026", `07:31  Phone "`+want+`" joined as crew.`)
	}
	a := newAt(slog.LevelInfo)
	a.say("2026-01-14 06:31", slog.LevelInfo, "\x1b[31m", "phone", "x")
	a.said(t, "Wednesday 14 January 2026", "07:31  [31m.")
}
