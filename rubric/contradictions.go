package rubric

import "slices"

// bond is a pair of fields of which one value does not go without the other.
type bond struct {
	code   string
	field  string   // what was charted here
	values []string // as one of these
	with   string   // asks for this field
	needs  []string // to be charted as one of these
}

// bonds are the contradictions that a sheet can hold. A murmur with a thrill is
// 5 or 6 of 6, and one without is 4 at most (the modified Levine scale).
var bonds = []bond{
	{codeThrillAlone, "heart.thrill", []string{"present"}, "heart.murmur", []string{"5", "6"}},
	{codeMurmurAlone, "heart.murmur", []string{"5", "6"}, "heart.thrill", []string{"present"}},
}

// contradictions notes, without marks, where the sheet contradicts itself. It
// goes by what the student wrote, whatever was there.
func (g *run) contradictions(d *tally) {
	for i := range bonds {
		b := &bonds[i]
		field, ok := g.sheet.ids[b.field]
		with, other := g.sheet.ids[b.with]
		if !ok || !other {
			continue
		}
		e := g.chartedAs(field, b.values)
		if e == nil || g.chartedAs(with, b.needs) != nil {
			continue
		}
		o := g.loudest(with)
		if o == nil { // a line left blank contradicts nothing: in triage the hand may rightly not have come so far
			continue
		}
		acts, stands := []int{g.n(e.act + 1), g.n(o.act + 1)}, g.sheet.value(o)
		d.note("contradiction/"+b.field, b.code, sorted(acts), Arg{"field", b.field}, Arg{"site", g.sheet.site(field, e.place)},
			Arg{"charted", g.sheet.value(e)}, Arg{"other", b.with}, Arg{"stands", stands},
			Arg{"truth", g.worstShown(field)}, Arg{"otherwas", g.worstShown(with)}, Arg{"steps", join(g.showing(b.field, b.with))})
	}
}

// chartedAs is the first entry of a field that says one of the values.
func (g *run) chartedAs(field int32, values []string) *entry {
	from, to := g.sheet.places(field)
	for p := from; p < to; p++ {
		e := g.sheet.on(p)
		if e == nil || e.reading.Choice < 0 || int(e.reading.Choice) >= len(g.sheet.fields[field].Of) || e.reading.Class < Normal {
			continue
		}
		if slices.Contains(values, g.sheet.fields[field].Of[e.reading.Choice]) {
			return e
		}
	}
	return nil
}

// loudest is the entry of a field that is furthest along its choices.
func (g *run) loudest(field int32) *entry {
	var most *entry
	from, to := g.sheet.places(field)
	for p := from; p < to; p++ {
		e := g.sheet.on(p)
		if e != nil && e.reading.Class >= Normal && (most == nil || e.reading.Choice > most.reading.Choice) {
			most = e
		}
	}
	return most
}

// worstShown is what an examine showed of a field, at the site where it is
// furthest along its choices; empty where the field was not examined.
func (g *run) worstShown(field int32) string {
	worst, most := "", -1
	from, to := g.sheet.places(field)
	for p := from; p < to; p++ {
		told := g.sheet.told(g.sheet.truths[p])
		if i := slices.Index(g.sheet.fields[field].Of, told); i > most {
			worst, most = told, i
		}
	}
	return worst
}

// showing are the steps that show one of two fields.
func (g *run) showing(a, b string) []string {
	var steps []string
	for i := range g.k.Steps {
		s := &g.k.Steps[i]
		if s.Kind != Handle && (slices.Contains(s.Reveals, a) || slices.Contains(s.Reveals, b)) {
			steps = append(steps, s.ID)
		}
	}
	return steps
}
