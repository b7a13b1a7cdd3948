package rubric

import "slices"

// sures are the lines of which somebody said how sure they were, beside what was
// there. They carry no points and change none.
func (g *run) sures() []SureRead {
	var list []SureRead
	for place, at := range g.sheet.current {
		if at == 0 {
			continue
		}
		e := &g.sheet.entries[at-1]
		if e.sure == "" || !e.examined {
			continue
		}
		right, known := g.holds(e)
		if !known {
			continue
		}
		f := &g.sheet.fields[e.field]
		list = append(list, SureRead{Place: Place{f.ID, g.sheet.site(e.field, int32(place))}, Value: g.sheet.value(e), Truth: e.truth,
			Sure: e.sure, Right: right, Act: g.n(e.act + 1)})
	}
	return list
}

// holds says whether what a line states was there: a figure within its
// tolerance, a grade within the field's, a choice by name; one normal is as good
// as another. What counts as the same finding, by its field or its site, is right
// as well, as it is marked. known is false where that cannot be judged.
func (g *run) holds(e *entry) (right, known bool) {
	right, known = g.agrees(e, e.truth)
	if right || e.reading.Class != Abnormal {
		return right, known
	}
	for i := range g.k.Findings {
		f := &g.k.Findings[i]
		switch {
		case g.acceptedFor(f, e) && g.standsAt(e, append([]string{f.Site}, f.Also...)):
			return true, true
		case f.Field == g.sheet.fields[e.field].ID && g.standsAt(e, f.Also):
			return g.agrees(e, f.Value)
		}
	}
	return right, known
}

// standsAt says that an entry stands at one of some sites as findings name them:
// that of a field without sites stands at each.
func (g *run) standsAt(e *entry, sites []string) bool {
	return slices.ContainsFunc(sites, func(site string) bool {
		place, _ := g.sheet.at(e.field, site)
		return place == e.place
	})
}

// agrees says whether what a line states is this truth.
func (g *run) agrees(e *entry, truth string) (right, known bool) {
	f := &g.sheet.fields[e.field]
	want, err := f.Read(truth)
	if err != nil || truth == unknownTruth {
		return false, false
	}
	own := e.reading
	switch {
	case own.Class == Unreadable || own.Class == Unexamined || own.Class == Blank:
		return false, false
	case want.Class == Figure || own.Class == Figure:
		return want.Class == own.Class && g.near(e, want.Number), true
	case usual(want.Class) || usual(own.Class):
		return usual(want.Class) && usual(own.Class), true
	case f.Kind == "grade":
		return apart(int64(want.Choice), int64(own.Choice)) <= int64(max(0, f.Tolerance)), true
	}
	return want.Choice == own.Choice, true
}

// usual says that a value is normal or a variant of it.
func usual(c Class) bool { return c == Normal || c == Variant }

// near says whether a figure lies within its tolerance of the truth.
func (g *run) near(e *entry, truth Milli) bool {
	f := &g.sheet.fields[e.field]
	x := clampTo(e.reading.Number, -largest, largest)
	truth = clampTo(truth, -largest, largest)
	if f.Vital == "" {
		return apart(int64(x), int64(truth)) <= int64(clampTo(f.Tolerance, 0, 1<<20))*1000
	}
	if f.Vital == "crt" {
		return refillClass(x) == refillClass(truth)
	}
	s := sign{v: &Vital{Name: f.Vital, Field: f.ID}, field: e.field, entry: e, truth: truth}
	if i := slices.IndexFunc(g.k.Vitals, func(v Vital) bool { return v.Field == f.ID }); i >= 0 {
		s.v = &g.k.Vitals[i]
	}
	s.needed = g.window(&s)
	return max(x-truth, truth-x) <= s.tolerance(g.sheet.fields)
}
