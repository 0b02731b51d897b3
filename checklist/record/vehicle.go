package record

import (
	"slices"
	"strings"

	"bayhold/checklist"
)

// found is how the vehicle came and what was seen on it, pinned, answered and
// signed.
func (w *writer) found() Section {
	plan := w.hung()

	t := Table{Title: w.say(sayFindings), Head: w.heads(headNumber, headPanel, headPlace, headFound, headSeen, headWho, headWhen, headAnswer)}
	for i := range w.pins {
		f := &w.pins[i]
		what := w.word("finding", f.What)
		if f.Size != 0 {
			what += ", " + w.say(sayAcross, number(f.Size))
		}
		if f.Note != "" {
			what += ", " + f.Note
		}
		answer := w.word("answer", f.Standing)
		for _, a := range f.Answers {
			if a.Answer == f.Standing {
				answer += ", " + w.span(a.At)
				if a.Note != "" {
					answer += ", " + a.Note
				}
				if a.Link != "" {
					answer += ", " + w.byLink(a.Link)
				}
				break
			}
		}
		t.Rows = append(t.Rows, []string{number(int64(i + 1)), w.panel(f.Panel), f.Place, what, w.word("walk", f.Walk), w.who(f.By), w.span(f.At), answer})
	}
	s := Table{Title: w.say(saySignatures), Head: w.heads(headPaper, headName, headAs, headWhen, headTapped)}
	var ink Ink
	var read Points
	for _, g := range w.shop.Signatures(w.Job) {
		tapped, as := w.who(g.By), w.word("as", g.As)
		if g.Link != "" {
			tapped, as = w.byLink(g.Link), as+", "+w.say(sayViaLink)
			read = append(read, w.say(sayRead, g.Name, w.say(sayTongue[g.Language]), strings.ReplaceAll(g.Text, "\n", " / ")))
		}
		s.Rows = append(s.Rows, []string{w.paper(g.What), g.Name, as, w.span(g.At), tapped})
		if len(g.Strokes) > 0 {
			ink = append(ink, Signature{g.Name, w.say(sayInk, g.Name, as, w.paper(g.What), w.span(g.At)), g.Strokes})
		}
	}
	refused := Table{Title: w.say(sayRefused), Head: w.heads(headPanel, headFound, headWhen)}
	for i := range w.pins {
		if f := &w.pins[i]; f.Standing == "declined" {
			refused.Rows = append(refused.Rows, []string{w.panel(f.Panel), w.word("finding", f.What), w.span(f.At)})
		}
	}
	return w.section("found", sayFound, plan, w.orTable(t, sayNoFindings), refused, w.orTable(s, sayNoSignature), read, ink)
}

// hung is the vehicle with its panels in hang order.
func (w *writer) hung() Plan {
	plan := Plan{Vehicle: w.open.Vehicle}
	pieces, _ := w.shop.HangOrder(w.Job, w.Now)
	for i, h := range pieces {
		p := PlanPanel{ID: h.Panel, Name: h.Name, Zone: w.zoneOf(h.Panel), Order: i + 1, Bare: h.Bare}
		for k := range w.pins {
			if w.pins[k].Panel == h.Panel {
				p.Pins = append(p.Pins, k+1)
			}
		}
		plan.Panels = append(plan.Panels, p)
	}
	if len(plan.Panels) == 0 {
		for i, p := range w.open.Panels {
			plan.Panels = append(plan.Panels, PlanPanel{ID: p.ID, Name: p.Name, Zone: p.Zone, Order: i + 1})
		}
	}
	names := make([]string, len(plan.Panels))
	for i, p := range plan.Panels {
		names[i] = number(int64(p.Order)) + " " + p.Name
	}
	plan.Alt = w.say(sayPlanAlt, w.open.Vehicle, strings.Join(names, ", "), number(int64(len(w.pins))))
	return plan
}

// film is what film lies on each panel, and whether it was allowed there.
func (w *writer) film() Section {
	t := Table{Title: w.say(sayFilmTable), Head: w.heads(headPanel, headFilm, headLaminate, headAdhesive, headBatch, headRoll, headAllowed)}
	sheet := Table{Title: w.say(saySheet), Head: w.heads(headPanel, headLimit, headFrom)}
	for i := range w.open.Panels {
		if p := &w.open.Panels[i]; w.bare(p.ID) {
			t.Rows = append(t.Rows, []string{p.Name, w.say(sayStaysBare), "", "", "", "", ""})
			continue
		}
		f, ok := w.shop.PanelFacts(w.Job, w.open.Panels[i].ID, w.Now)
		if !ok || f.Film.Family == "" {
			t.Rows = append(t.Rows, []string{w.open.Panels[i].Name, w.say(sayNoFilm), "", "", "", "", ""})
			continue
		}
		film := w.word("family", f.Film.Family)
		if f.Film.Sheet != "" {
			film = f.Film.Sheet + " (" + film + ")"
		}
		if f.Film.Thickness != 0 {
			film += ", " + number(f.Film.Thickness) + " µm"
		}
		allowed := w.word("rating", f.Rating)
		if f.Risk {
			allowed += ", " + w.say(sayOwnRisk)
		}
		t.Rows = append(t.Rows, []string{f.Name, film, w.word("laminate", f.Film.Laminate), w.word("adhesive", f.Film.Adhesive), w.orMissing(f.Film.Batch), w.orMissing(f.Film.Roll), allowed})
		from := func(origin string) string {
			if origin == "" {
				return w.say(sayShopRule)
			}
			return w.word("origin", origin)
		}
		row := []string{f.Name, w.say(sayWindow, w.temp(f.Floor), w.temp(f.Ceiling)), from(f.FloorFrom)}
		if k := slices.IndexFunc(sheet.Rows, func(r []string) bool { return r[1] == row[1] && r[2] == row[2] }); k >= 0 {
			sheet.Rows[k][0] += ", " + f.Name
			continue
		}
		sheet.Rows = append(sheet.Rows, row)
	}
	printed := Table{Title: w.say(sayPrinting), Head: w.heads(headStep, headWho, headWhen)}
	var print, laminate int64
	each(w, func(l *checklist.Line, b checklist.Tick) {
		switch b.Stage {
		case "print", "laminate", "film-in":
			if b.Answer == "not-done" {
				return
			}
			printed.Rows = append(printed.Rows, []string{w.stage(b.Stage), w.who(l.By), w.when(l)})
			if b.Stage == "print" {
				print = act(l)
			}
			if b.Stage == "laminate" {
				laminate = act(l)
			}
		}
	})
	var gassed Say
	if print != 0 && laminate > print {
		gassed = Say(w.say(sayGassed, length(laminate-print), length(w.rules["degas"])))
	}
	return w.section("film", sayFilm, t, printed, gassed, sheet)
}

// before is what was there: paint, gas patches, old film.
func (w *writer) before() Section {
	asked := Table{Title: w.say(sayQuestions), Head: w.heads(headQuestion, headAnswered, headWho, headWhen)}
	each(w, func(l *checklist.Line, b checklist.Asked) {
		asked.Rows = append(asked.Rows, []string{w.word("question", b.What), w.word("choice", b.Answer), w.who(l.By), w.when(l)})
	})
	paint := Table{Title: w.say(sayPaint), Head: w.heads(headWhere, headCure, headPainted, headThickness, headSource, headWho, headWhen)}
	each(w, func(l *checklist.Line, b checklist.Paint) {
		var um []string
		for _, t := range b.Thickness {
			um = append(um, number(t))
		}
		thick := strings.Join(um, ", ")
		if thick != "" {
			thick += " µm"
		}
		painted := w.date(b.Painted)
		if painted == "" {
			painted = w.say(sayUnknown)
		}
		paint.Rows = append(paint.Rows, []string{w.panels(b.Panels), w.word("cure", b.Cure), painted, thick, w.word("source", b.Source), w.who(l.By), w.when(l)})
	})
	patch := Table{Title: w.say(sayPatches), Head: w.heads(headPanel, headFrom, headTo, headPlaces, headColdest, headWarmed, headSeenThere, headWho)}
	each(w, func(l *checklist.Line, b checklist.Patch) {
		row := []string{w.panel(b.Panel), w.clock(b.From), w.clock(b.To), number(b.Places), "", "", w.word("patch", b.Seen), w.who(l.By)}
		if b.To != 0 {
			row[4] = w.temp(int64(b.Coldest))
			if b.Warm != 0 {
				row[5] = w.temp(int64(b.Warm)) + ", " + length(b.WarmFor)
			}
		} else {
			row[6] = w.say(sayPatchOn)
		}
		patch.Rows = append(patch.Rows, row)
	})
	trial := Table{Title: w.say(sayTrials), Head: w.heads(headPlace, headPanel, headSurface, headTook, headResidue, headPaint, headWho, headWhen)}
	each(w, func(l *checklist.Line, b checklist.Trial) {
		on := ""
		if b.Panel != "" {
			on = w.panel(b.Panel)
		}
		trial.Rows = append(trial.Rows, []string{b.Place, on, w.temp(int64(b.Surface)), length(b.Took), percent(b.Residue), w.word("trial", b.Paint), w.who(l.By), w.when(l)})
	})
	return w.section("before", sayBefore, asked, paint, patch, trial)
}

// care is the care sheet that the driver signed for.
func (w *writer) care() Section {
	lines, ok := w.shop.CareSheet(w.Job, checklist.Languages[w.language], w.Now)
	if !ok {
		return Section{}
	}
	var out Points
	for _, l := range lines {
		out = append(out, w.marks(l.Text))
	}
	var signed Points
	each(w, func(l *checklist.Line, b checklist.Sign) {
		if b.What == "hand-over" {
			as := w.word("as", b.As)
			if b.Link != "" {
				as += ", " + w.say(sayViaLink)
			}
			signed = append(signed, w.say(saySignedCare, b.Name, as, w.when(l)))
		}
	})
	return w.section("care", sayCare, out, w.orSay(signed, sayCareUnsigned))
}

// photos is every photo that a line names, in the order of those lines.
func (w *writer) photos() Section {
	var out Pictures
	seen := map[string]bool{}
	add := func(l *checklist.Line, sha, what, panel string) {
		if sha == "" || seen[sha] {
			return
		}
		seen[sha] = true
		out = append(out, Picture{sha, w.say(sayPhoto, what, w.panel(panel), w.when(l), w.who(l.By)), w.say(sayPhotoMissing)})
	}
	for i := range w.standing {
		l := &w.standing[i]
		switch b := l.Body.(type) {
		case checklist.Photo:
			add(l, b.SHA, w.word("photo", b.Name), b.Panel)
		case checklist.Evidence:
			add(l, b.Photo, w.word("evidence", b.What), b.Panel)
		case checklist.Finding:
			add(l, b.Photo, w.word("finding", b.What), b.Panel)
		case checklist.Trial:
			add(l, b.Photo, w.say(sayTrialAt, b.Place), b.Panel)
		case checklist.Patch:
			add(l, b.Photo, w.stage("patch-test"), b.Panel)
		}
	}
	if len(out) == 0 {
		return w.section("photos", sayPhotos, Say(w.say(sayNoPhotos)))
	}
	return w.section("photos", sayPhotos, Say(w.say(sayPhotoNote)), out)
}

// seal is what proves all this.
func (w *writer) seal() Section {
	s := w.Seal
	if s.Head == "" {
		return w.section("seal", saySeal, Say(w.say(sayNotSealed)))
	}
	id := uuid(w.Job)
	return w.section("seal", saySeal, Say(w.say(sayHowSealed)),
		Facts{{w.say(sayJobID), id}, {w.say(sayChain), w.say(sayChainAt, number(int64(s.Order)), number(int64(s.Epoch)))}, {w.say(sayHead), s.Head}, {w.say(sayKey), s.Key}},
		Code{"bayhold record " + id + " " + s.Head, w.say(sayCode)})
}

// uuid writes an ID as RFC 9562 does.
func uuid(id checklist.ID) string {
	const hex = "0123456789abcdef"
	out := make([]byte, 0, 36)
	for i, b := range id {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			out = append(out, '-')
		}
		out = append(out, hex[b>>4], hex[b&15])
	}
	return string(out)
}
