package lead

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"bayhold/checklist"
)

// Removal says what the trial strips of a job make one expect of taking its old
// film off: an estimate with its range, in sentences that hold a gate's marks,
// none before the first strip that tells anything. No gate rests on it.
func (l *Look) Removal(id checklist.ID) []string {
	f, ok := l.Shop.Removal(id, l.Now)
	if !ok || f.Strips == 0 {
		return nil
	}
	says := []string{"Estimate from " + counted(f.Strips, "1 strip", " strips") + ": " + between(span(f.Per), span(f.PerTo)) + " by hand a square metre."}
	if f.High > 0 {
		says = append(says, "All measured panels: "+between(span(f.Low), span(f.High))+" by hand.")
		if f.Unmeasured > 0 {
			says = append(says, "Not in it: "+counted(f.Unmeasured, "1 panel", " panels")+" that nobody measured.")
		}
	}
	says = append(says, "Adhesive left: "+between(percent(f.Residue), percent(f.To))+".")
	j, _ := l.Shop.Job(id)
	var order []string // of the methods, as their panels come
	panels := map[string][]string{}
	for i, p := range f.Panels {
		if p.Left {
			continue
		}
		how := "film not known, repeat the strip that worked best."
		if m := p.Method; m != nil {
			film := strings.ToLower(m.Film[:1]) + m.Film[1:]
			how = film + ", " + mark("c", int64(m.LowMilliC)) + " to " + mark("c", int64(m.HighMilliC)) + "."
			if m.NoHeat {
				how = strings.TrimSuffix(how, ".") + ", without heat."
			}
			if m.AngleLow > 0 {
				how += " Pull at " + between(number(m.AngleLow), number(m.AngleHigh)) + " degrees, " + between(number(m.SpeedLow), number(m.SpeedHigh)) + " mm a minute."
			}
			how += " " + m.Expect
		}
		if panels[how] == nil {
			order = append(order, how)
		}
		panels[how] = append(panels[how], j.Open.Panels[i].Name)
	}
	for _, how := range order {
		where := strings.Join(panels[how], ", ")
		first, n := utf8.DecodeRuneInString(where)
		says = append(says, string(unicode.ToUpper(first))+where[n:]+": "+how)
	}
	if f.Peeled {
		says = append(says, "A strip took paint along: ask the owner before pulling there.")
	}
	return says
}

func counted(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return strconv.Itoa(n) + many
}

// between is a range, or the one value where both ends are the same.
func between(low, high string) string {
	if low == high {
		return low
	}
	return low + " to " + high
}

func percent(milli int64) string { return number(milli/1000) + " %" }

func number(n int64) string { return strconv.FormatInt(n, 10) }

func mark(sort string, n int64) string { return "⟨" + sort + ":" + number(n) + "⟩" }
