package checklist

// FilmWindow is the surface at which a family of film may be laid, in
// thousandths of a degree Celsius.
type FilmWindow struct {
	Family         string // key of package film; "removable" for any film with that adhesive
	Contour        bool   // on contours and rivets, or else on flats and gentle curves
	Floor, Ceiling int64
}

// FilmWindows is what families want of a surface beyond the shop's own rule:
// common practice, no source. A row can only make the rule stricter; what a
// film's own sheet says stands in the place of both. Contours start at 60 F
// whatever the family stands.
var FilmWindows = []FilmWindow{
	{"cast", false, 10_000, 35_000},
	{"cast", true, 15_556, 32_000},
	{"cast-print", false, 10_000, 35_000},
	{"cast-print", true, 15_556, 32_000},
	{"cast-structured", false, 16_000, 30_000},
	{"cast-structured", true, 16_000, 30_000},
	{"calendered-long", false, 12_000, 32_000},
	{"calendered-short", false, 10_000, 30_000},
	{"removable", false, 12_000, 32_000},
	{"removable", true, 15_556, 32_000},
	{"reflective", false, 16_000, 30_000},
	{"reflective", true, 16_000, 30_000},
	{"perforated", false, 10_000, 30_000},
}

// atMost are the rules where less is stricter; of all others more is.
var atMost = []string{"surface_ceiling", "air_ceiling", "air_apart", "dry_rh", "outside", "silence", "vouch", "vouch_short",
	"wipe_shelf", "wipe_shelf_hot", "wipe_hot", "door_open", "primer_open", "risen_share"}

// number is a limit with its origin, "" for the shop's own rule.
type number struct {
	value  int64
	origin string
}

// stricter returns the one that opens later.
func (a number) stricter(key string, b number) number {
	if has(atMost, key) == (b.value < a.value) && a.value != b.value {
		return b
	}
	return a
}

// sheets works out, for every panel, the numbers that hold there: the shop's,
// and in their place those of the film's own sheet.
func (v *view) sheets(films []*roll) []*limits {
	out := make([]*limits, len(films))
	for i, f := range films {
		out[i] = v.limits
		if f == nil || len(f.Limits) == 0 {
			continue
		}
		l := *v.limits
		for _, x := range f.Limits {
			if r := ruleRow(x.Key); r != nil {
				*r.field(&l) = x.Value
			}
		}
		out[i] = &l
	}
	return out
}

// on returns the numbers that hold on a panel.
func (v *view) on(p *Panel) *limits {
	if p == nil {
		return v.limits
	}
	return v.filming.numbers[v.place(p)]
}

// rule returns one number as it holds on a panel, or, where p is nil, in a
// zone ("" all of them): the strictest of the films that are still to be laid
// there, or after laying of those that were.
func (v *view) rule(key string, p *Panel, zone string, side Side) number {
	if p != nil {
		return v.ruleOn(key, v.place(p))
	}
	out, any := number{value: v.limits.rule(key)}, false
	if !v.filming.sheet {
		return out
	}
	for i := range v.open.Panels {
		if zone != "" && v.open.Panels[i].Zone != zone || v.ended[i].bare || side != After && v.ended[i].is {
			continue
		}
		n := v.ruleOn(key, i)
		if any {
			n = out.stricter(key, n)
		}
		out, any = n, true
	}
	return out
}

// ruleOn returns one number as it holds on the panel at that place.
func (v *view) ruleOn(key string, panel int) number {
	return v.named(panel, key, v.filming.numbers[panel].rule(key))
}

// named adds to a number that holds on a panel where it is from.
func (v *view) named(panel int, key string, value int64) number {
	n := number{value: value}
	if f := v.filming.films[panel]; f != nil {
		for _, x := range f.Limits {
			if x.Key == key {
				n.origin = x.Origin
			}
		}
	}
	return n
}

// surface returns the coldest and the warmest surface on which the films that
// are still to be laid in a zone may be laid: of every panel by its film's
// sheet, or else by the shop's rule and its family's row.
func (v *view) surface(zone string) (floor, ceiling number) {
	any := false
	for i := range v.open.Panels {
		if v.open.Panels[i].Zone != zone || v.ended[i].is {
			continue
		}
		low, high := v.surfaceOn(i)
		if any {
			low, high = floor.stricter("surface_floor", low), ceiling.stricter("surface_ceiling", high)
		}
		floor, ceiling, any = low, high, true
	}
	if any {
		return floor, ceiling
	}
	return number{value: v.limits.surfaceFloor}, number{value: v.limits.surfaceCeiling}
}

func (v *view) surfaceOn(panel int) (floor, ceiling number) {
	p, f, l := &v.open.Panels[panel], v.filming.films[panel], v.filming.numbers[panel]
	contour := p.Contour || v.filming.shapes[panel].stretched
	all := v.named(panel, "surface_floor", l.surfaceFloor)
	floor, ceiling = all, v.named(panel, "surface_ceiling", l.surfaceCeiling)
	if !contour {
		floor = v.named(panel, "surface_floor_flat", l.surfaceFloorFlat)
	}
	if f == nil {
		return floor, ceiling
	}
	if floor.origin == "" && all.origin != "" {
		floor = all // the sheet says one floor for all
	}
	sheetFloor, sheetCeiling := floor.origin != "", ceiling.origin != ""
	for i := range FilmWindows {
		r := &FilmWindows[i]
		if r.Contour != contour || r.Family != f.Family && r.Family != f.Adhesive {
			continue
		}
		if !sheetFloor && r.Floor > floor.value {
			floor = number{r.Floor, memory}
		}
		if !sheetCeiling && r.Ceiling < ceiling.value {
			ceiling = number{r.Ceiling, memory}
		}
	}
	return floor, ceiling
}

// by says in a sentence where its number is from, if not from the shop's own
// rule.
func (n number) by(sentence string) string {
	if n.origin == "" {
		return sentence
	}
	return sentence[:len(sentence)-1] + " (" + n.origin + ")."
}
