package checklist

import "bayhold/checklist/rest"

// CareLine is one line of the care sheet. From is the moment that it names, 0 if
// it names none.
type CareLine struct {
	Key  string
	Text string
	From int64
}

// Languages are those of the care sheet.
var Languages = []string{"en", "es"}

// careRow is one line of the care sheet in its languages. {1} is when the film
// may see it, {2} when it better does: rest.Table says how long after the
// laying of the last panel that is. Common practice, no source; the film
// maker's sheet wins.
type careRow struct{ key, en, es string }

var careRows = [...]careRow{
	{"rain", "Keep it out of rain and frost until {1}.", "Sin lluvia ni helada hasta {1}."},
	{"hand-wash", "Wash by hand from {1} on: soft cloth, mild soap.", "Lavar a mano desde {1}: paño suave, jabón suave."},
	{"jet-wash", "Pressure wash, fan jet, from {1} on, better from {2}.", "Lavar a presión, chorro plano, desde {1}, mejor desde {2}."},
	{"jet-how", "300 mm off, under 80 bar and 50 C, never at edges.", "A 300 mm, bajo 80 bar y 50 C, no en bordes."},
	{"brush-wash", "Better no brush wash at all; never before {1}.", "Mejor nunca un túnel de cepillos; jamás antes de {1}."},
	{"claim", "A brush wash ends the claim on this film.", "El túnel de cepillos anula la garantía del vinil."},
	{"lifts", "An edge lifts? Do not pull. Call the shop.", "¿Se levanta un borde? No tire de él. Llame al taller."},
	{"call-back", "Bring it back from {1} to {2}: we look at it.", "Tráigalo de {1} a {2}: lo revisamos."},
	{"maker", "The film maker's sheet wins over this one.", "La hoja del fabricante manda sobre esta."},
}

// CareSheet returns what the driver signs for, in one of Languages; ok is false
// while a panel is not laid.
func (s *Shop) CareSheet(id ID, language string, now Span) (lines []CareLine, ok bool) {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return nil, false
	}
	laid, ok := v.lastLaid()
	if !ok {
		return nil, false
	}
	for i := range careRows {
		row := &careRows[i]
		l := CareLine{Key: row.key, Text: row.en}
		if language == "es" {
			l.Text = row.es
		}
		if c, ok := rest.CareOf(row.key); ok {
			least, prefer := c.From(laid.Latest)
			l.From, l.Text = least, fill(l.Text, markTime(least), markTime(prefer))
		}
		lines = append(lines, l)
	}
	return lines, true
}
