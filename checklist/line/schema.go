package line

import "bayhold/checklist"

// schema walks the fields of one kind: with a nil body it reads, with a body
// it writes. The keys are those of package checklist's comments.
type schema func(f *fields, in checklist.Body) checklist.Body

func shopSet(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.ShopSet)
	f.text("name", &b.Name, must)
	f.text("units", &b.Units, must)
	f.text("zone", &b.Zone, must)
	return b
}

func placeAdd(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.PlaceAdd)
	f.id("place", &b.Place, must)
	f.text("name", &b.Name, must)
	f.text("sort", &b.Sort, must)
	f.int("order", &b.Order)
	f.int("length", &b.Length)
	f.int("height", &b.Height)
	f.int("door", &b.Door)
	return b
}

func personAdd(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.PersonAdd)
	f.id("person", &b.Person, must)
	f.text("name", &b.Name, must)
	f.text("initials", &b.Initials, must)
	f.text("role", &b.Role, must)
	return b
}

func airShared(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.AirShared)
	f.ids("places", &b.Places, must)
	f.int("from", &b.From)
	f.int("to", &b.To)
	return b
}

func rulesSet(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.RulesSet)
	f.text("hash", &b.Hash, may)
	f.numbers("values", &b.Values, must)
	return b
}

func shopHours(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.ShopHours)
	f.ints("week", &b.Week)
	f.texts("shut", &b.Shut, may)
	f.int("porter", &b.Porter)
	return b
}

func instrument(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Instrument)
	f.text("name", &b.Name, must)
	f.text("sort", &b.Sort, must)
	f.int("error", &b.Error)
	f.int("rh_error", &b.RHError)
	f.int("checked", &b.Checked)
	f.text("against", &b.Against, may)
	f.text("serial", &b.Serial, may)
	f.bool("gone", &b.Gone)
	return b
}

func climateBlock(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.ClimateBlock)
	f.text("instrument", &b.Instrument, must)
	f.int("from", &b.From)
	f.int("to", &b.To)
	f.int("n", &b.N)
	f.triple("air", &b.Air)
	f.triple("rh", &b.RH)
	f.triple("dew", &b.Dew)
	return b
}

func climateReading(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.ClimateReading)
	f.milli("air", &b.Air)
	f.milli("rh", &b.RH)
	f.text("instrument", &b.Instrument, may)
	f.int("at", &b.At)
	f.text("typed", &b.Typed, may)
	return b
}

func climateSpan(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.ClimateSpan)
	f.int("from", &b.From)
	f.int("to", &b.To)
	f.milli("air_least", &b.AirLeast)
	f.milli("air_most", &b.AirMost)
	f.milli("rh_least", &b.RHLeast)
	f.milli("rh_most", &b.RHMost)
	f.text("instrument", &b.Instrument, may)
	f.text("typed", &b.Typed, may)
	return b
}

func placeEvent(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.PlaceEvent)
	f.text("cause", &b.Cause, must)
	f.int("from", &b.From)
	f.int("to", &b.To)
	f.text("note", &b.Note, may)
	return b
}

func panel(f *fields, b *checklist.Panel) {
	f.text("id", &b.ID, must)
	f.text("name", &b.Name, must)
	f.text("zone", &b.Zone, may)
	f.bool("contour", &b.Contour)
	f.bool("primer", &b.Primer)
	f.int("area", &b.Area)
}

func spot(f *fields, b *checklist.Spot) {
	f.text("id", &b.ID, must)
	f.text("name", &b.Name, must)
	f.text("zone", &b.Zone, may)
}

func jobOpen(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.JobOpen)
	f.text("label", &b.Label, must)
	f.text("customer", &b.Customer, may)
	f.text("vehicle", &b.Vehicle, may)
	f.text("plate", &b.Plate, may)
	f.text("route", &b.Route, must)
	f.text("film", &b.Film, may)
	f.id("place", &b.Place, may)
	f.int("promise", &b.Promise)
	f.text("rules", &b.Rules, may)
	list(f, "panels", &b.Panels, may, panel)
	list(f, "spots", &b.Spots, may, spot)
	f.text("steps", &b.Steps, may)
	f.text("vin", &b.VIN, may)
	f.text("fleet", &b.Fleet, may)
	f.text("proof", &b.Proof, may)
	return b
}

func jobMove(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.JobMove)
	f.id("place", &b.Place, must)
	f.int("at", &b.At)
	f.text("wet", &b.Wet, must)
	return b
}

func jobClose(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.JobClose)
	f.text("how", &b.How, must)
	return b
}

func tick(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Tick)
	f.text("stage", &b.Stage, must)
	f.text("panel", &b.Panel, may)
	f.text("zone", &b.Zone, may)
	f.text("answer", &b.Answer, must)
	f.int("at", &b.At)
	f.text("note", &b.Note, may)
	f.text("how", &b.How, may)
	return b
}

func spotValue(f *fields, b *checklist.SpotValue) {
	f.text("spot", &b.Spot, must)
	f.milli("surface", &b.Surface)
}

func reading(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Reading)
	f.text("answer", &b.Answer, may)
	list(f, "values", &b.Values, b.Answer != "not-measured", spotValue)
	f.text("instrument", &b.Instrument, may)
	f.int("at", &b.At)
	f.text("typed", &b.Typed, may)
	f.text("with", &b.With, may)
	return b
}

func setback(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Setback)
	f.text("cause", &b.Cause, must)
	f.texts("panels", &b.Panels, may)
	f.texts("zones", &b.Zones, may)
	f.int("from", &b.From)
	f.int("to", &b.To)
	f.text("note", &b.Note, may)
	return b
}

func evidence(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Evidence)
	f.text("what", &b.What, must)
	f.text("zone", &b.Zone, may)
	f.bool("passed", &b.Passed)
	f.int("count", &b.Count)
	f.int("at", &b.At)
	f.text("note", &b.Note, may)
	f.text("panel", &b.Panel, may)
	f.int("of", &b.Of)
	f.text("photo", &b.Photo, may)
	f.text("feature", &b.Feature, may)
	return b
}

func finding(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Finding)
	f.text("panel", &b.Panel, may)
	f.text("place", &b.Place, may)
	f.text("what", &b.What, must)
	f.text("photo", &b.Photo, may)
	f.text("note", &b.Note, may)
	f.text("walk", &b.Walk, may)
	f.int("size", &b.Size)
	f.bytes("salt", &b.Salt)
	return b
}

// line is a line of the same logbook that the body is about.
func (f *fields) line(id *checklist.LineID) {
	f.id("writer", &id.Writer, must)
	seq := int64(id.Seq)
	f.int("seq", &seq)
	id.Seq = uint64(seq)
	f.need("seq", must, f.writing || seq > 0)
}

func timeAdopt(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.TimeAdopt)
	f.line(&b.Line)
	return b
}

func findingAnswer(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.FindingAnswer)
	f.line(&b.Finding)
	f.text("answer", &b.Answer, must)
	f.text("note", &b.Note, may)
	f.text("shown", &b.Shown, may)
	byLink(f, &b.Text, &b.Language, &b.Link)
	return b
}

// byLink is what the server adds to a line that an owner's link brought.
func byLink(f *fields, text, language, link *string) {
	f.text("text", text, may)
	f.text("language", language, may)
	f.text("link", link, may)
}

func ownerLink(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.OwnerLink)
	f.text("to", &b.To, must)
	f.int("until", &b.Until)
	f.text("sum", &b.Sum, must)
	f.text("phone", &b.Phone, may)
	f.bytes("salt", &b.Salt)
	return b
}

func sign(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Sign)
	f.text("what", &b.What, must)
	f.text("as", &b.As, must)
	f.text("name", &b.Name, must)
	f.bytes("strokes", &b.Strokes)
	f.text("shown", &b.Shown, may)
	f.bytes("salt", &b.Salt)
	byLink(f, &b.Text, &b.Language, &b.Link)
	return b
}

func waiver(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Waiver)
	f.text("stage", &b.Stage, must)
	f.text("panel", &b.Panel, may)
	f.text("zone", &b.Zone, may)
	f.texts("causes", &b.Causes, must)
	f.text("sentence", &b.Sentence, must)
	return b
}

func photo(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Photo)
	f.text("sha", &b.SHA, must)
	f.int("bytes", &b.Bytes)
	f.text("panel", &b.Panel, may)
	f.text("name", &b.Name, may)
	return b
}

func voice(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Voice)
	f.text("sha", &b.SHA, must)
	f.int("bytes", &b.Bytes)
	f.int("length", &b.Length)
	return b
}

func note(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Note)
	f.text("text", &b.Text, must)
	f.bytes("salt", &b.Salt)
	return b
}

func forget(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Forget)
	f.ids("writers", &b.Writers, may)
	f.ints("seqs", &b.Seqs)
	f.texts("kinds", &b.Kinds, may)
	f.texts("sums", &b.Sums, may)
	f.texts("left", &b.Left, may)
	f.texts("gone", &b.Gone, may)
	f.texts("photos", &b.Photos, may)
	f.text("why", &b.Why, must)
	return b
}

func adopt(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Adopt)
	f.text("sum", &b.Sum, must)
	return b
}

func filmLimit(f *fields, b *checklist.Limit) {
	f.text("key", &b.Key, must)
	f.int("value", &b.Value)
	f.text("origin", &b.Origin, must)
}

func filmRoll(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.FilmRoll)
	f.texts("panels", &b.Panels, may)
	f.text("family", &b.Family, must)
	f.text("laminate", &b.Laminate, may)
	f.text("adhesive", &b.Adhesive, may)
	f.int("thickness", &b.Thickness)
	f.text("batch", &b.Batch, may)
	f.text("roll", &b.Roll, may)
	f.text("sheet", &b.Sheet, may)
	f.bool("printed", &b.Printed)
	f.int("months", &b.Months)
	list(f, "limits", &b.Limits, may, filmLimit)
	return b
}

func feature(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Feature)
	f.text("panel", &b.Panel, must)
	f.text("id", &b.ID, must)
	f.text("sort", &b.Sort, must)
	f.text("name", &b.Name, may)
	f.text("shape", &b.Shape, may)
	f.int("width", &b.Width)
	f.int("depth", &b.Depth)
	f.int("floor", &b.Floor)
	f.int("path", &b.Path)
	f.int("half_width", &b.HalfWidth)
	f.int("height", &b.Height)
	f.int("length", &b.Length)
	f.int("count", &b.Count)
	f.bool("moving", &b.Moving)
	f.text("laid", &b.Laid, may)
	f.text("plan", &b.Plan, may)
	f.text("under", &b.Under, may)
	f.text("force", &b.Force, may)
	return b
}

func heatDone(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Heat)
	f.text("panel", &b.Panel, must)
	f.int("length", &b.Length)
	f.int("took", &b.Took)
	f.int("guns", &b.Guns)
	f.int("rivets", &b.Rivets)
	f.ints("films", &b.Films)
	f.text("instrument", &b.Instrument, may)
	f.int("emissivity", &b.Emissivity)
	f.text("answer", &b.Answer, must)
	f.int("at", &b.At)
	f.text("typed", &b.Typed, may)
	f.text("over", &b.Over, may)
	return b
}

func trial(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Trial)
	f.text("place", &b.Place, must)
	f.text("panel", &b.Panel, may)
	f.milli("surface", &b.Surface)
	f.int("angle", &b.Angle)
	f.int("speed", &b.Speed)
	f.int("took", &b.Took)
	f.int("area", &b.Area)
	f.int("residue", &b.Residue)
	f.text("paint", &b.Paint, must)
	f.text("photo", &b.Photo, may)
	f.int("at", &b.At)
	return b
}

func paintKnown(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Paint)
	f.texts("panels", &b.Panels, may)
	f.text("cure", &b.Cure, must)
	f.int("painted", &b.Painted)
	f.ints("thickness", &b.Thickness)
	f.text("source", &b.Source, may)
	f.int("at", &b.At)
	return b
}

func patch(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Patch)
	f.text("panel", &b.Panel, may)
	f.int("from", &b.From)
	f.int("to", &b.To)
	f.int("places", &b.Places)
	f.milli("coldest", &b.Coldest)
	f.milli("warm", &b.Warm)
	f.int("warm_for", &b.WarmFor)
	f.text("seen", &b.Seen, may)
	f.text("photo", &b.Photo, may)
	return b
}

func asked(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.Asked)
	f.text("what", &b.What, must)
	f.text("answer", &b.Answer, must)
	return b
}

func jobRules(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.JobRules)
	f.text("rules", &b.Rules, may)
	f.text("steps", &b.Steps, may)
	f.text("why", &b.Why, must)
	return b
}

func step(f *fields, b *checklist.Step) {
	f.text("key", &b.Key, must)
	f.text("name", &b.Name, may)
	f.texts("needs", &b.Needs, may)
	f.text("caution", &b.Caution, may)
	f.text("per", &b.Per, may)
	f.bool("after", &b.After)
}

func stepsSet(f *fields, in checklist.Body) checklist.Body {
	b, _ := in.(checklist.StepsSet)
	f.text("hash", &b.Hash, may)
	f.text("route", &b.Route, must)
	f.text("name", &b.Name, must)
	list(f, "steps", &b.Steps, must, step)
	return b
}

// strike takes lines back and says nothing else: its body stays nil, what it
// strikes stands in the entry.
func strike(*fields, checklist.Body) checklist.Body { return nil }
