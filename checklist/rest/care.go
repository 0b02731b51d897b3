package rest

// Care is one thing that a fresh film must not see yet, from the moment the
// last piece was laid.
type Care struct {
	Key, What         string
	LeastMs, PreferMs int64  // not before; better not before
	Within            string // how, once it may
}

const day = 24 * hour

// Table is what a fresh film may see when. Common practice, no source; the film
// maker's sheet wins.
var Table = []Care{
	{"recheck", "re-check of recesses, corners, overlaps, rivets", 24 * hour, 48 * hour, "at most 5 % risen, re-pressed; over that find the cause"},
	{"rain", "rain and frost", 24 * hour, 24 * hour, ""},
	{"hand-wash", "hand wash", 72 * hour, 72 * hour, ""},
	{"jet-wash", "pressure wash", 7 * day, 14 * day, "300 mm off, fan jet, under 80 bar, under 50 C, not at edges"},
	{"brush-wash", "brush wash", 14 * day, 14 * day, "ends the claim; better never"},
	{"call-back", "call back with photos of the recesses", 7 * day, 14 * day, ""},
}

// CareOf returns the row of [Table] with that key.
func CareOf(key string) (Care, bool) {
	for _, c := range Table {
		if c.Key == key {
			return c, true
		}
	}
	return Care{}, false
}

// From returns the moments, in ms since the Unix epoch, from which the film
// that was laid at laidMs may see this, and from which it better does.
func (c Care) From(laidMs int64) (least, prefer int64) {
	return laidMs + c.LeastMs, laidMs + c.PreferMs
}

// FirstWash is when a film may be washed.
type FirstWash struct {
	LaidMs             int64
	RainMs             int64
	HandMs             int64
	JetMs, JetPreferMs int64
	Sentence           string
}

// FirstWashOf returns when a film that was laid at laidMs may be washed.
func FirstWashOf(laidMs int64) (FirstWash, error) {
	if laidMs < 0 || laidMs > lastMs-30*day {
		return FirstWash{}, errTime
	}
	w := FirstWash{LaidMs: laidMs}
	rain, _ := CareOf("rain")
	hand, _ := CareOf("hand-wash")
	jet, _ := CareOf("jet-wash")
	w.RainMs, _ = rain.From(laidMs)
	w.HandMs, _ = hand.From(laidMs)
	w.JetMs, w.JetPreferMs = jet.From(laidMs)
	w.Sentence = "Hand wash from " + moment(w.HandMs) + ", pressure wash from " + moment(w.JetMs) + "."
	return w, nil
}
