package rubric

// negative is one pertinent negative.
type negative struct {
	field int32
	site  string
}

// negatives are the case's pertinent negatives; where the patient has no
// abnormality, those that a required step shows, and where the case lists
// none, every choice that a required step shows.
func (g *run) negatives(healthy bool) []negative {
	list := make([]negative, 0, len(g.k.Negatives))
	var needed map[string]bool
	if healthy {
		needed = g.requiredFields()
	}
	for _, p := range g.k.Negatives {
		f, ok := g.sheet.ids[p.Field]
		if n := (negative{f, p.Site}); ok && g.sheet.fields[f].Vital == "" && (!healthy || needed[p.Field]) && !g.isUnknown(&n) {
			list = append(list, n)
		}
	}
	if healthy && len(g.k.Negatives) == 0 {
		for i := range g.sheet.fields {
			f, n := &g.sheet.fields[i], negative{int32(i), ""}
			if needed[f.ID] && f.Vital == "" && len(f.Normal) > 0 && !g.isUnknown(&n) {
				list = append(list, n)
			}
		}
	}
	return list
}

// isUnknown says that nobody established the truth of a negative.
func (g *run) isUnknown(n *negative) bool {
	from, to := g.negativePlaces(n)
	for p := from; p < to; p++ {
		if g.sheet.told(g.sheet.truths[p]) == unknownTruth {
			return true
		}
	}
	return false
}

func (g *run) requiredFields() map[string]bool {
	m := make(map[string]bool, 64)
	for i := range g.k.Steps {
		if g.k.Steps[i].Required {
			for _, f := range g.k.Steps[i].Reveals {
				m[f] = true
			}
		}
	}
	return m
}

func (g *run) writeNegatives(d *tally, list []negative, parts *portions) {
	if len(list) == 0 {
		d.drop("negatives", "none-expected")
		return
	}
	pool := portions{total: parts.next(partNegative), sum: int64(len(list))}
	for i := range list {
		g.writeNegative(d, &list[i], pool.next(1))
	}
}

// writeNegative marks the share of the places that were examined and rightly
// charted normal.
func (g *run) writeNegative(d *tally, n *negative, limit Points) {
	from, to := g.negativePlaces(n)
	right, examined, wrong := 0, 0, false
	var acts, looked []int
	for p := from; p < to; p++ {
		t := g.sheet.truths[p]
		if t.act == 0 {
			t = g.sheet.truths[g.sheet.base[n.field]]
		}
		if t.act == 0 {
			continue
		}
		examined++
		looked = append(looked, g.n(t.act))
		e := g.sheet.on(p)
		if e == nil {
			e = g.sheet.on(g.sheet.base[n.field])
		}
		if e == nil {
			continue
		}
		switch ok, called := g.rightly(e); {
		case ok:
			right++
			acts = append(acts, g.n(e.act+1))
		case called:
			wrong = true
			acts = append(acts, g.n(e.act+1))
		}
	}
	code := codeNegativeGap
	switch {
	case right == int(to-from):
		code = codeNegative
	case wrong:
		code = codeNegativeFalse
	case right > 0:
		code = codeNegativePart
	case examined == 0:
		code = codeNegativeMiss
	}
	if code == codeNegativeGap {
		acts = looked
	}
	id := g.sheet.fields[n.field].ID
	d.add("negative/"+placeName(id, n.site), share(limit, int64(right), int64(to-from)), limit, code, sorted(acts),
		Arg{"field", id}, Arg{"site", n.site}, Arg{"right", itoa(right)}, Arg{"places", itoa(int(to - from))})
}

// rightly says whether an entry agrees with what was last seen there: normal
// called normal, or something that handling brought on called abnormal. Called
// says that it called a normal place abnormal.
func (g *run) rightly(e *entry) (ok, called bool) {
	truth := g.classOfTruth(e)
	switch e.reading.Class {
	case Normal, Variant:
		return e.examined && truth != Abnormal, false
	case Abnormal:
		return e.examined && truth == Abnormal, truth != Abnormal
	}
	return false, false
}

// negativePlaces are the places of a negative: its site, or all of the field's.
func (g *run) negativePlaces(n *negative) (from, to int32) {
	if p, sited := g.sheet.at(n.field, n.site); sited {
		return p, p + 1
	}
	from, to = g.sheet.places(n.field)
	if to > from+1 {
		from++
	}
	return from, to
}
