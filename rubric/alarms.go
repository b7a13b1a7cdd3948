package rubric

import "slices"

// falseAlarms takes points for abnormal entries that belong to no finding and
// were not there. Normal variants are never false alarms.
func (g *run) falseAlarms(d *tally, used []bool) {
	for place, at := range g.sheet.current {
		if at == 0 || used[place] {
			continue
		}
		e := &g.sheet.entries[at-1]
		f := &g.sheet.fields[e.field]
		if e.reading.Class != Abnormal || !e.examined || f.Vital != "" || g.excused(e) {
			continue
		}
		site := g.sheet.site(e.field, e.place)
		d.add("alarm/"+placeName(f.ID, site), -share(d.max, costFalseAlarm, 1000), 0, codeFalseAlarm, []int{g.n(e.act + 1)},
			Arg{"field", f.ID}, Arg{"site", site}, Arg{"charted", g.sheet.value(e)}, Arg{"truth", e.truth})
	}
}

// excused says that an abnormal entry is no false alarm: what was last seen
// there was abnormal, is not known, or belongs to a finding charted already at
// one of the places where it may be charted.
func (g *run) excused(e *entry) bool {
	if c := g.classOfTruth(e); c != Normal && c != Variant {
		return true
	}
	for i := range g.k.Findings {
		f := &g.k.Findings[i]
		if f.Field != g.sheet.fields[e.field].ID {
			if g.acceptedFor(f, e) {
				return true
			}
			continue
		}
		if slices.Contains(f.Also, g.sheet.site(e.field, e.place)) || !e.sited && g.sheet.fields[e.field].PerSite {
			return true
		}
	}
	return false
}

// acceptedFor says that the entry's field counts as the same finding as f.
func (g *run) acceptedFor(f *Finding, e *entry) bool {
	i, ok := g.sheet.ids[f.Field]
	return ok && slices.Contains(g.sheet.fields[i].AcceptAs, g.sheet.fields[e.field].ID)
}

// unexamined takes points for fields that were charted without being examined,
// a field once. Three of them, or any vital, hold the release for a person.
func (g *run) unexamined(d *tally) {
	count := 0
	from := 0
	for from < len(g.sheet.current) {
		field, to := g.fieldAt(from)
		if e := g.bareEntry(from, to); e != nil {
			count++
			f := &g.sheet.fields[field]
			g.heldCharted = g.heldCharted || f.Vital != "" || count >= heldUnexamined
			d.add("unexamined/"+f.ID, -share(d.max, costUnexamined, 1000), 0, codeUncharted, []int{g.n(e.act + 1)},
				Arg{"field", f.ID}, Arg{"site", g.sheet.site(e.field, e.place)}, Arg{"vital", f.Vital}, Arg{"charted", g.sheet.value(e)})
		}
		from = to
	}
}

func (g *run) fieldAt(from int) (field, to int) {
	field, _ = slices.BinarySearch(g.sheet.base, int32(from))
	_, end := g.sheet.places(int32(field))
	return field, int(end)
}

// bareEntry is the first entry among places that claims something that was
// never examined.
func (g *run) bareEntry(from, to int) *entry {
	for p := from; p < to; p++ {
		e := g.sheet.on(int32(p))
		if e != nil && !e.examined && e.reading.Class != Unexamined && e.reading.Class != Unreadable {
			return e
		}
	}
	return nil
}

// unreadable says which records could not be read, in whole or in part. They
// earn nothing.
func (g *run) unreadable(d *tally) {
	for i := range g.sheet.problem {
		p := &g.sheet.problem[i]
		d.note("unreadable/"+clip(p.field), p.code, []int{g.n(p.act + 1)}, Arg{"field", clip(p.field)}, Arg{"charted", clip(p.value)})
	}
}

// detect counts for Report.Detection what was called abnormal and what normal:
// abnormal findings that were examined, and normal places that were examined
// and charted. An entry that served a finding, or that is excused, is counted
// with its finding; an abnormality left blank was not called abnormal.
func (g *run) detect(items []item, used []bool) {
	d := &g.rep.Detection
	for i := range items {
		switch it := &items[i]; {
		case g.sheet.fields[it.field].Vital != "":
		case it.code == codeCalledNormal || it.code == codeLeftBlank:
			d.Misses++
		case it.entry != nil && it.code != codeSettled:
			d.Hits++
		}
	}
	for place, at := range g.sheet.current {
		if at == 0 || used[place] {
			continue
		}
		e := &g.sheet.entries[at-1]
		if !e.examined || g.sheet.fields[e.field].Vital != "" {
			continue
		}
		switch e.reading.Class {
		case Normal, Variant:
			if c := g.classOfTruth(e); c == Normal || c == Variant {
				d.TrueNormals++
			}
		case Abnormal:
			if !g.excused(e) {
				d.FalseAlarms++
			}
		}
	}
}
