package rubric

// match gives every finding the entry charted for it: at its place first, then
// in a field that is accepted for it, then at a wrong site. An entry serves one
// finding. It returns the entries that served, by place.
func (g *run) match(items []item) []bool {
	used := make([]bool, len(g.sheet.current))
	for _, wrongSite := range [2]bool{false, true} {
		for _, other := range [2]bool{false, true} {
			for i := range items {
				if it := &items[i]; it.shown >= 0 && it.entry == nil {
					g.find(it, used, wrongSite, other)
				}
			}
		}
	}
	for i := range items {
		g.settle(&items[i])
	}
	return used
}

// find looks for an abnormal entry in the finding's field, or in those that are accepted for it.
func (g *run) find(it *item, used []bool, wrongSite, other bool) {
	fields := g.accepted(it.field, other)
	for _, field := range fields {
		if !wrongSite {
			for i, own := range it.sites {
				site := it.f.Site
				if i > 0 {
					site = g.sheet.site(it.field, own)
				}
				p, _ := g.sheet.at(field, site)
				if e := g.claim(p, used); e != nil {
					it.entry, it.atSite = e, true
					used[p] = true
					return
				}
			}
			continue
		}
		from, to := g.sheet.places(field)
		for p := from; p < to; p++ {
			if e := g.claim(p, used); e != nil && !g.trulyAbnormal(e) {
				it.entry, it.atSite = e, false
				used[p] = true
				return
			}
		}
	}
}

// accepted lists the field itself, or the others that count as the same finding.
func (g *run) accepted(field int32, other bool) []int32 {
	if !other {
		return []int32{field}
	}
	f := &g.sheet.fields[field]
	var list []int32
	for _, id := range f.AcceptAs {
		if i, ok := g.sheet.ids[id]; ok {
			list = append(list, i)
		}
	}
	return list
}

// claim is the examined abnormal entry at a place that no finding has used.
func (g *run) claim(place int32, used []bool) *entry {
	if used[place] {
		return nil
	}
	e := g.sheet.on(place)
	if e == nil || e.reading.Class != Abnormal || !e.examined {
		return nil
	}
	return e
}

// trulyAbnormal says that what was last seen behind an entry with a site was abnormal there.
func (g *run) trulyAbnormal(e *entry) bool {
	f := &g.sheet.fields[e.field]
	if f.PerSite && !e.sited && len(f.Sites) > 0 {
		return false
	}
	return g.classOfTruth(e) == Abnormal
}

func (g *run) classOfTruth(e *entry) Class {
	rd, err := g.sheet.fields[e.field].Read(e.truth)
	if err != nil || e.truth == unknownTruth {
		return Unreadable
	}
	return rd.Class
}
