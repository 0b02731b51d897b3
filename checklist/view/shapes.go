package view

import "bayhold/checklist"

// shape is the usual panels and reading spots of a kind of vehicle: what a new
// job starts from, before somebody changes it.
type shape struct {
	key, name, route string
	panels           []checklist.Panel
	spots            []checklist.Spot
}

// shapes: zones are "upper" and "lower", because sills, arches and rails stay
// wet and cold longest; spots are the coldest places first (common practice,
// no source).
var shapes = [...]shape{
	{
		key: "van", name: "Van", route: "van",
		panels: []checklist.Panel{
			{ID: "rear", Name: "Rear doors", Zone: "upper", Contour: true, Primer: true},
			{ID: "left", Name: "Left side", Zone: "upper", Contour: true, Primer: true},
			{ID: "right", Name: "Right side", Zone: "upper", Contour: true, Primer: true},
			{ID: "hood", Name: "Hood", Zone: "upper", Contour: true},
			{ID: "roof", Name: "Roof", Zone: "upper"},
			{ID: "left-sill", Name: "Left sill", Zone: "lower", Contour: true},
			{ID: "right-sill", Name: "Right sill", Zone: "lower", Contour: true},
		},
		spots: []checklist.Spot{
			{ID: "1", Name: "rear left sill", Zone: "lower"},
			{ID: "2", Name: "rear right sill", Zone: "lower"},
			{ID: "3", Name: "left hinge post", Zone: "lower"},
			{ID: "4", Name: "right hinge post", Zone: "lower"},
			{ID: "5", Name: "left shoulder", Zone: "upper"},
			{ID: "6", Name: "right shoulder", Zone: "upper"},
			{ID: "7", Name: "rear door, middle", Zone: "upper"},
			{ID: "8", Name: "roof, front", Zone: "upper"},
		},
	},
	{
		key: "bus", name: "Bus side", route: "bus-side",
		panels: []checklist.Panel{
			{ID: "side-rear", Name: "Side, rear third", Zone: "upper"},
			{ID: "side-middle", Name: "Side, middle third", Zone: "upper"},
			{ID: "side-front", Name: "Side, front third", Zone: "upper"},
			{ID: "skirt", Name: "Skirt", Zone: "lower"},
		},
		spots: []checklist.Spot{
			{ID: "1", Name: "rail, rear", Zone: "lower"},
			{ID: "2", Name: "rail, middle", Zone: "lower"},
			{ID: "3", Name: "rail, front", Zone: "lower"},
			{ID: "4", Name: "middle of the side", Zone: "upper"},
			{ID: "5", Name: "below the roof edge", Zone: "upper"},
		},
	},
	{
		key: "hood", name: "Repainted hood", route: "hood",
		panels: []checklist.Panel{
			{ID: "hood", Name: "Hood", Zone: "upper", Contour: true},
		},
		spots: []checklist.Spot{
			{ID: "1", Name: "over the brace", Zone: "upper"},
			{ID: "2", Name: "front edge", Zone: "upper"},
			{ID: "3", Name: "middle", Zone: "upper"},
		},
	},
	{
		key: "removal", name: "Film to come off", route: "removal",
		panels: []checklist.Panel{
			{ID: "left", Name: "Left side", Zone: "upper"},
			{ID: "right", Name: "Right side", Zone: "upper"},
			{ID: "rear", Name: "Rear doors", Zone: "upper"},
		},
		spots: []checklist.Spot{
			{ID: "1", Name: "left side, middle", Zone: "upper"},
			{ID: "2", Name: "right side, middle", Zone: "upper"},
		},
	},
}

func (v *writer) shapes() {
	v.Key("shapes").Array()
	for _, sh := range shapes {
		v.Object()
		v.text("key", sh.key)
		v.text("name", sh.name)
		v.text("route", sh.route)
		v.Key("panels").Array()
		for _, p := range sh.panels {
			v.Object()
			v.text("id", p.ID)
			v.text("name", p.Name)
			v.text("zone", p.Zone)
			v.flag("contour", p.Contour)
			v.flag("primer", p.Primer)
			v.End()
		}
		v.End()
		v.Key("spots").Array()
		for _, sp := range sh.spots {
			v.Object()
			v.text("id", sp.ID)
			v.text("name", sp.Name)
			v.text("zone", sp.Zone)
			v.End()
		}
		v.End()
		v.End()
	}
	v.End()
}
