package record

import "strings"

// Text is the record as plain lines, one for each sentence, fact and row of a
// table, its cells apart by tabs.
func (r *Record) Text() string {
	var b strings.Builder
	line := func(parts ...string) { b.WriteString(strings.Join(parts, "\t") + "\n") }
	line(r.Title)
	line(r.Subject)
	for _, s := range r.Sections {
		line("")
		line(s.Title)
		for _, block := range s.Blocks {
			switch x := block.(type) {
			case Sub:
				line(string(x))
			case Say:
				line(string(x))
			case Points:
				for _, p := range x {
					line(p)
				}
			case Facts:
				for _, f := range x {
					line(f.Name, f.Value)
				}
			case Table:
				if x.Title != "" {
					line(x.Title)
				}
				line(x.Head...)
				for _, row := range x.Rows {
					line(row...)
				}
			case Plan:
				line(x.Alt)
			case Plot:
				line(x.Title)
			case Pictures:
				for _, p := range x {
					line(p.Caption)
				}
			case Ink:
				for _, s := range x {
					line(s.Caption)
				}
			case Code:
				line(x.Text, x.Caption)
			}
		}
	}
	return b.String()
}
