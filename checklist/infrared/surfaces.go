package infrared

// Surface is one row of the table of emissivities.
type Surface struct {
	Key, Name string
	Low, High float64 // emissivity in 8 to 14 um, as clean as a vehicle in the shop
}

// Usual is the middle of the row.
func (s Surface) Usual() float64 { return (s.Low + s.High) / 2 }

// Readable says whether an infrared thermometer can be used on it at all.
func (s Surface) Readable() bool { return s.Low >= Floor }

// Surfaces is what an installer points an infrared thermometer at. Long-wave
// values from published compilations (after Bramson; Wolfe and Zissis, The
// Infrared Handbook); gloss to the eye is not shine to the meter. The rows
// marked with a star are common practice, no source.
var Surfaces = []Surface{
	{"paint", "paint or lacquer, any colour, gloss or matt", 0.90, 0.96},
	{"film", "vinyl film or matt vinyl tape", 0.93, 0.96}, // tape 0.96; printed and laminated film *
	{"glass", "glass", 0.92, 0.97},
	{"plastic", "raw plastic, rubber", 0.90, 0.95}, // *
	{"anodised", "anodised aluminium", 0.95, 0.97},
	{"metallic-lacquer", "lacquer full of aluminium flake", 0.35, 0.50},
	{"cast-aluminium", "cast or blasted aluminium", 0.40, 0.50},
	{"bare-aluminium", "bare aluminium, rivet heads", 0.03, 0.10},
	{"stainless", "bare stainless steel", 0.10, 0.40}, // *
	{"chrome", "chrome, metallised film", 0.05, 0.15},
}

// Find returns the row with that key.
func Find(key string) (Surface, bool) {
	for _, s := range Surfaces {
		if s.Key == key {
			return s, true
		}
	}
	return Surface{}, false
}
