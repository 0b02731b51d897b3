package lead

import (
	"strconv"

	"bayhold/checklist"
)

// Item is one thing to look at on the closing walk.
type Item struct {
	Place checklist.ID
	Name  string // of the place
	What  string // one sentence, what to see or do
	Why   string // what of tonight asks for it, "" for every night
	First bool   // tonight it matters more than the rest
}

// everyNight is what is looked at in each bay, in this order, and everyShop
// what is looked at once (common practice, no source).
var (
	everyNight = []string{"Door shut, curtain closed."}
	everyShop  = []string{"Rags in the lidded bin, bin outside.", "Film put away, off the floor.", "Keys on the board."}
)

// Closing is the walk at close-up in the order of the bays, made from what the
// shop has on tonight.
func (l *Look) Closing() []Item {
	var out []Item
	day := l.Now.Latest - 12*hour
	for _, p := range l.Shop.Places() {
		if p.Sort != "bay" {
			continue
		}
		add := func(first bool, what, why string) {
			out = append(out, Item{p.Place, p.Name, what, why, first})
		}
		if since := l.goesOn(p.Place, "door-open"); since != 0 {
			add(true, "Shut the door.", "Open since "+clock(since)+".")
		} else {
			for _, w := range everyNight {
				add(false, w, "")
			}
		}
		if since := l.goesOn(p.Place, "flame-heater"); since != 0 {
			add(true, "Flame heater out.", "Lit "+clock(since)+". It makes water, and is never left alone.")
		}
		if b := l.bays[p.Place]; b.heard && b.now.Source == "logger" {
			if l.Now.Latest-b.now.At > l.rules["silence"] {
				add(true, "Look at the logger.", "Silent since "+clock(b.now.At)+".")
			}
		} else {
			add(false, "Reset the minimum-maximum instrument.", "No logger here.")
		}
		washed := false
		for i := range l.vehicles {
			v := &l.vehicles[i]
			if v.Place != p.Place {
				continue
			}
			stage, left := l.needs(v)
			switch {
			case stage == "dry" && left > 0:
				add(true, "Heater set, extractor NOT on its timer.", v.Open.Label+" dries: "+span(left)+" to go.")
			case stage == "rest" && left > 0:
				add(true, "Heater set, 18 C or more.", v.Open.Label+" rests: "+span(left)+" to go.")
			default:
				add(false, "Heater at its night setting.", "")
			}
			c := l.Shop.Claim(v.ID, "wash", "", "", l.Now)
			if c.State == checklist.GoodClaim && c.At.Latest > day {
				washed = true
				if !l.blown(v, c.At.Earliest) {
					add(true, "Blow "+v.Open.Label+" out: seams, handles, lamps.", "Washed today.")
				}
			}
			for _, sp := range l.Shop.Spots(v.ID, l.Now) {
				if stage == "dry" && sp.Ask {
					add(true, "Read "+sp.Name+".", "It opens the night's hours of "+v.Open.Label+".")
					break
				}
			}
		}
		if washed || l.washedHere(p.Place, day) {
			add(true, "Squeegee the floor to the drain.", "Washed here today.")
		}
		if a, ok := l.Coming(p.Place); ok && a.Verdict == No {
			add(true, a.Action, a.Sentence)
		}
	}
	for _, w := range everyShop {
		out = append(out, Item{Name: "Shop", What: w})
	}
	return out
}

// blown says whether a vehicle was blown out after a moment.
func (l *Look) blown(v *vehicle, since int64) bool {
	for _, line := range l.Shop.Lines(v.ID, 0) {
		if e, ok := line.Body.(checklist.Evidence); ok && !line.Struck && e.What == "blown-out" && e.Passed && line.Span.Latest >= since {
			return true
		}
	}
	return false
}

func (l *Look) washedHere(place checklist.ID, since int64) bool {
	for _, h := range l.Shop.Happenings(place) {
		if h.Cause == "wash-near" && h.Place == place && (h.To == 0 || h.To >= since) && h.From <= l.Now.Latest {
			return true
		}
	}
	return false
}

// span marks a length of time.
func span(ms int64) string { return "⟨h:" + strconv.FormatInt(ms, 10) + "⟩" }
