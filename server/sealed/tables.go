package sealed

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"time"

	"bayhold/checklist"
	"bayhold/sync/logbook"
)

// when writes a moment as RFC 3339 in UTC, nothing for none.
func when(ms int64) string {
	if ms == 0 {
		return ""
	}
	return time.UnixMilli(ms).UTC().Format("2006-01-02T15:04:05.000Z07:00")
}

// milli writes thousandths with a decimal point and no float between.
func milli(v int32) string {
	n, sign := int64(v), ""
	if n < 0 {
		n, sign = -n, "-"
	}
	return fmt.Sprintf("%s%d.%03d", sign, n/1000, n%1000)
}

func (l *Lines) person(id checklist.ID) string {
	if p, ok := l.Shop.Person(id); ok {
		return p.Name
	}
	if id == (checklist.ID{}) {
		return ""
	}
	return logbook.ID(id).String()
}

// author is who was tapped, or that an owner's word came by link.
func (l *Lines) author(x *Line) string {
	link := ""
	switch b := x.said.Body.(type) {
	case checklist.Sign:
		link = b.Link
	case checklist.FindingAnswer:
		link = b.Link
	}
	if link != "" {
		return "by link"
	}
	return l.person(checklist.ID(x.entry.By))
}

func (l *Lines) struck(x *Line) string {
	if s, ok := l.Shop.Line(x.said.Log, x.said.ID); ok && s.Struck {
		return "struck"
	}
	return ""
}

var tableHead = []string{"log", "order", "epoch", "earliest", "latest", "arrived", "first_arrived", "phone_clock", "by", "writer", "seq",
	"kind", "body", "strikes", "struck"}

// table writes every line as a row, its body as JSON.
func (l *Lines) table(written []byte) []byte {
	rows := [][]string{tableHead}
	views := bytes.Split(written, []byte("\n"))
	for i := range l.All {
		x := &l.All[i]
		var v struct{ Body, Strikes json.RawMessage }
		json.Unmarshal(views[i], &v) // jsonl wrote it
		c := x.receipt
		rows = append(rows, []string{logName(x.Log), number(c.Order), number(c.Epoch), when(c.Earliest), when(c.Latest), when(c.Arrived), when(c.First()),
			when(x.entry.At.Wall), l.author(x), x.entry.Writer.String(), number(x.entry.Seq), x.entry.Kind,
			string(v.Body), string(v.Strikes), l.struck(x)})
	}
	return CSV(rows)
}

var readingsHead = []string{"what", "place", "spot", "from", "to", "least_C", "most_C", "rh_least", "rh_most", "dew_most_C",
	"instrument", "answer", "typed", "by", "log", "order", "struck"}

// readings writes every measured value as a row: surfaces, air, film under the
// gun. From and to are when it was measured, as far as that is known.
func (l *Lines) readings() []byte {
	rows := [][]string{readingsHead}
	facts, _ := l.Shop.Job(checklist.ID(l.Job))
	spots, panels := map[string]string{}, map[string]string{}
	for _, s := range facts.Open.Spots {
		spots[s.ID] = s.Name
	}
	for _, p := range facts.Open.Panels {
		panels[p.ID] = p.Name
	}
	for i := range l.All {
		x := &l.All[i]
		row := func(at int64, what, place, spot string, values [5]string, instrument, answer, typed string) {
			from, to := x.receipt.Earliest, x.receipt.Latest
			if at != 0 {
				from, to = min(from, at), max(to, at)
			}
			rows = append(rows, []string{what, place, spot, when(from), when(to), values[0], values[1], values[2], values[3], values[4],
				instrument, answer, typed, l.person(x.said.By), logName(x.Log), number(x.receipt.Order), l.struck(x)})
		}
		span := func(from, to int64) {
			last := rows[len(rows)-1]
			last[3], last[4] = when(from), when(to)
		}
		place := ""
		if p, ok := l.Shop.Place(x.said.Log.ID); ok {
			place = p.Name
		}
		switch b := x.said.Body.(type) {
		case checklist.Reading:
			for _, v := range b.Values {
				row(b.At, "surface", spots[v.Spot], v.Spot, [5]string{milli(v.Surface), milli(v.Surface)}, b.Instrument, b.Answer, b.Typed)
			}
			if len(b.Values) == 0 {
				row(b.At, "surface", "", "", [5]string{}, b.Instrument, b.Answer, b.Typed)
			}
		case checklist.Heat:
			for _, f := range b.Films {
				row(b.At, "film", panels[b.Panel], "", [5]string{milli(int32(f)), milli(int32(f))}, b.Instrument, b.Answer, b.Typed)
			}
		case checklist.Trial:
			row(b.At, "surface", panels[b.Panel], b.Place, [5]string{milli(b.Surface), milli(b.Surface)}, "", "", "")
		case checklist.Patch:
			row(0, "surface", panels[b.Panel], "", [5]string{milli(b.Coldest), ""}, "", "", "")
			span(b.From, b.To)
		case checklist.ClimateBlock:
			row(0, "air", place, "", [5]string{milli(b.Air.Least), milli(b.Air.Most), milli(b.RH.Least), milli(b.RH.Most), milli(b.Dew.Most)}, b.Instrument, "", "")
			span(b.From, b.To)
		case checklist.ClimateReading:
			row(b.At, "air", place, "", [5]string{milli(b.Air), milli(b.Air), milli(b.RH), milli(b.RH), ""}, b.Instrument, "", b.Typed)
		case checklist.ClimateSpan:
			row(0, "air", place, "", [5]string{milli(b.AirLeast), milli(b.AirMost), milli(b.RHLeast), milli(b.RHMost), ""}, b.Instrument, "", b.Typed)
			span(b.From, b.To)
		}
	}
	return CSV(rows)
}

// line64 reads a number of a table.
func line64(s string) (uint64, bool) {
	n, err := strconv.ParseUint(s, 10, 64)
	return n, err == nil && number(n) == s
}
