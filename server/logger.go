package server

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"strconv"
	"strings"
	"time"
)

// LoggerKeys are the keys that loggers prove a bay with, by the bay's plain
// name. With none, whoever reaches a server at localhost may post, and nobody
// elsewhere (mayPost).
type LoggerKeys map[string][32]byte // SHA-256 of the key

// ReadLoggerKeys reads a file of lines 'PLACE KEY'; a line that begins with #
// is passed over. A key is at least 16 bytes without white space.
func ReadLoggerKeys(file string) (LoggerKeys, error) {
	raw, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("the loggers' keys: %w", err)
	}
	keys := LoggerKeys{}
	for i, l := range strings.Split(string(raw), "\n") {
		f := strings.Fields(l)
		if len(f) == 0 || strings.HasPrefix(f[0], "#") {
			continue
		}
		if len(f) != 2 || len(f[1]) < 16 {
			return nil, fmt.Errorf("%s, line %d: a line is a place, as in bay-4, and a key of at least 16 bytes: openssl rand -hex 16", file, i+1)
		}
		if _, twice := keys[plain(f[0])]; twice {
			return nil, fmt.Errorf("%s, line %d: %s has a key already", file, i+1, f[0])
		}
		keys[plain(f[0])] = sha256.Sum256([]byte(f[1]))
	}
	if len(keys) == 0 {
		return nil, fmt.Errorf("%s holds no key", file)
	}
	return keys, nil
}

// refuse says why a request may not post for a place, "" if it may. Hashes are
// compared, in constant time: neither length nor content of a key shows in how
// long that takes.
func (k LoggerKeys) refuse(r *http.Request, names ...string) string {
	if k == nil {
		return ""
	}
	key, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if !ok {
		return "a logger proves its bay with 'Authorization: Bearer KEY', the key of the server's file"
	}
	got, right := sha256.Sum256([]byte(strings.TrimSpace(key))), 0
	for _, n := range names {
		want, known := k[plain(n)]
		if known {
			right |= subtle.ConstantTimeCompare(got[:], want[:])
		}
	}
	if right == 0 {
		return "this key is not that of this bay"
	}
	return ""
}

// samplesOf splits the body of a post into samples: an object with an
// instrument and a list, or JSON Lines, one sample a line, with the instrument
// in the address: ?instrument=bay-4-mid.
func samplesOf(r *http.Request, body []byte) (instrument string, samples []json.RawMessage, err error) {
	if instrument = r.URL.Query().Get("instrument"); instrument == "" {
		var post struct {
			Instrument string            `json:"instrument"`
			Samples    []json.RawMessage `json:"samples"`
		}
		if err := json.Unmarshal(body, &post); err != nil {
			return "", nil, errors.New("this is no post of samples: " + err.Error() + ". JSON Lines want the instrument in the address: ?instrument=NAME")
		}
		return post.Instrument, post.Samples, nil
	}
	lines := bufio.NewScanner(bytes.NewReader(body))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		if l := bytes.TrimSpace(lines.Bytes()); len(l) > 0 {
			samples = append(samples, bytes.Clone(l))
		}
	}
	return instrument, samples, lines.Err()
}

// columns are the names that a logger's file may give its columns, and the
// fields of a sample; the first that fits is taken.
var columns = []struct {
	field string
	names []string
}{
	{"at", []string{"at", "time", "date time", "datetime", "timestamp", "date"}},
	{"air_c", []string{"air_c", "temperature c", "temp c", "temperature", "temp", "c"}},
	{"air_f", []string{"air_f", "temperature f", "temp f", "f"}},
	{"rh_pct", []string{"rh_pct", "rh", "rh %", "humidity", "humidity %", "relative humidity", "relative humidity %", "%"}},
}

// moments are the ways in which loggers write a time; those without a zone are
// in the shop's.
var moments = []string{time.RFC3339, "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04",
	"02.01.2006 15:04:05", "02.01.2006 15:04"}

// readMoment reads a time in any of those ways.
func readMoment(s string, zone *time.Location) (when time.Time, err error) {
	for _, m := range moments {
		if when, err = time.ParseInLocation(m, s, zone); err == nil {
			return when, nil
		}
	}
	return when, err
}

// csvRow is a line of a logger's file: its number there and its sample, or why it
// is none.
type csvRow struct {
	line int
	json []byte
	why  string
}

// rowsOf reads a logger's CSV file. Its first line names the columns; fields
// are separated by comma or semicolon, and with semicolons a number may have a
// decimal comma. Every time is moved by the offset of the logger's clock.
func rowsOf(file io.Reader, zone *time.Location, offset time.Duration) ([]csvRow, error) {
	raw, err := io.ReadAll(file)
	if err != nil {
		return nil, err
	}
	raw = bytes.TrimPrefix(raw, []byte("\xef\xbb\xbf"))
	head, _, _ := bytes.Cut(raw, []byte("\n"))
	r := csv.NewReader(bytes.NewReader(raw))
	r.FieldsPerRecord = -1
	if bytes.Count(head, []byte(";")) > bytes.Count(head, []byte(",")) {
		r.Comma = ';'
	}
	names, err := r.Read()
	if err != nil {
		return nil, errors.New("the file has no first line that names its columns")
	}
	at := map[string]int{}
	for _, c := range columns {
		for _, want := range c.names {
			for i, n := range names {
				n = strings.Join(strings.Fields(strings.NewReplacer("(", " ", ")", " ", "°", "", "[", " ", "]", " ").Replace(strings.ToLower(n))), " ")
				if _, taken := at[c.field]; !taken && n == want {
					at[c.field] = i
				}
			}
		}
	}
	_, celsius := at["air_c"]
	_, fahrenheit := at["air_f"]
	if _, ok := at["at"]; !ok || !celsius && !fahrenheit {
		return nil, fmt.Errorf("the columns %s have no time or no air; name them at, air_c (or air_f), rh_pct", strings.Join(names, ", "))
	}
	if _, ok := at["rh_pct"]; !ok {
		return nil, fmt.Errorf("the columns %s have no humidity; name it rh_pct", strings.Join(names, ", "))
	}
	var out []csvRow
	for {
		f, err := r.Read()
		if err == io.EOF {
			return out, nil
		}
		line, _ := r.FieldPos(0)
		if err != nil {
			out = append(out, csvRow{line: line, why: "this is no line of CSV: " + err.Error()})
			continue
		}
		smp, why := rowOf(f, at, r.Comma == ';', zone, offset)
		out = append(out, csvRow{line, smp, why})
	}
}

func rowOf(f []string, at map[string]int, comma bool, zone *time.Location, offset time.Duration) (smp []byte, why string) {
	field := func(name string) string {
		if i, ok := at[name]; ok && i < len(f) {
			return strings.TrimSpace(f[i])
		}
		return ""
	}
	number := func(name string) (float64, bool) {
		s := field(name)
		if comma {
			s = strings.Replace(s, ",", ".", 1)
		}
		v, err := strconv.ParseFloat(s, 64)
		return v, err == nil && v-v == 0
	}
	when, err := readMoment(field("at"), zone)
	if err != nil {
		return nil, fmt.Sprintf("time %q: write it as 2026-01-14 07:50:00", field("at"))
	}
	c, ok := number("air_c")
	if !ok {
		fahr, is := number("air_f")
		if !is {
			return nil, fmt.Sprintf("air %q is no number", field("air_c")+field("air_f"))
		}
		c = (fahr - 32) / 1.8
	}
	rh, ok := number("rh_pct")
	if !ok {
		return nil, fmt.Sprintf("humidity %q is no number", field("rh_pct"))
	}
	smp, err = json.Marshal(struct {
		At   string  `json:"at"`
		AirC float64 `json:"air_c"`
		RH   float64 `json:"rh_pct"`
	}{when.Add(offset).Format(time.RFC3339), c, rh})
	if err != nil {
		return nil, err.Error()
	}
	return smp, ""
}
