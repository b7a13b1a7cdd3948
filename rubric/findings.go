package rubric

import "slices"

// The parts of Findings in thousandths, and what a false alarm and a line
// charted without examining cost.
const (
	partAbnormal   = 750
	partNegative   = 250
	costFalseAlarm = 50
	costUnexamined = 100
	seenPart       = 500

	weightMajor = 6 // 3 and 1.5, doubled to stay whole
	weightMinor = 3

	// The parts of one finding in parts per million: the call, its site, its
	// grade. A part that the field does not have folds into the call. A choice
	// called abnormal but named as another abnormality earns half the call.
	partSite     = 200_000
	partGrade    = 200_000
	calledNormal = -200_000

	heldUnexamined = 3 // fields charted without being examined that hold the release
)

func (g *run) canFind() bool {
	return len(g.k.Findings) > 0 || len(g.k.Negatives) > 0 || g.required > 0
}

// item is one abnormal truth on its way through the marking.
type item struct {
	f       *Finding
	field   int32
	sites   []int32 // places where it may be charted: its own, then Also
	shown   int32   // place that was shown; -1: none
	unknown bool
	entry   *entry // what was charted for it
	atSite  bool
	mirror  *entry // its value, where it stands on the other side
	earned  int64  // parts per million
	weight  int64
	code    string
}

// expected says that a required step can show the finding: what only a
// withheld step could show is nobody's omission.
func (g *run) expected(f *Finding) bool {
	return slices.ContainsFunc(f.Steps, func(id string) bool {
		step, ok := g.steps[id]
		return ok && g.k.Steps[step].Required
	})
}

// findings marks max(0, .75 A + .25 N - .05 FA - .10 U) x min(1, seen / .5);
// without an abnormality max(0, N - .05 FA - .10 U). Vitals are no items here,
// unless nothing else is abnormal: then calling them normal must not earn N.
func (g *run) findings(d *tally) {
	items := g.items()
	if len(items) == 0 {
		items = g.vitalItems()
	}
	used := g.match(items)
	g.detect(items, used)
	negatives := g.negatives(len(items) == 0)
	var all, seen, judged int64
	for i := range items {
		it := &items[i]
		switch {
		case it.unknown:
		case it.shown >= 0:
			all, seen = all+it.weight, seen+it.weight
		case g.expected(it.f):
			all += it.weight
		}
	}
	judged = seen
	parts := portions{total: d.max}
	if judged > 0 {
		parts.sum += partAbnormal
	}
	if len(negatives) > 0 {
		parts.sum += partNegative
	}
	g.writeItems(d, items, &parts, judged)
	g.writeNegatives(d, negatives, &parts)
	g.falseAlarms(d, used)
	g.unexamined(d)
	g.unreadable(d)
	g.contradictions(d)
	d.floor()
	if all > 0 {
		d.scale("seen", codeGuardSeen, seen*1000, all*seenPart, Arg{"seen", itoa(int(seen * 100 / all))})
	}
}

// items lists the abnormal truths that are no vitals.
func (g *run) items() []item {
	items := make([]item, 0, len(g.k.Findings))
	places := make([]int32, 0, 2*len(g.k.Findings))
	for i := range g.k.Findings {
		f := &g.k.Findings[i]
		field, ok := g.sheet.ids[f.Field]
		if !ok || g.sheet.fields[field].Vital != "" {
			continue
		}
		it := item{f: f, field: field, shown: -1, weight: weightMinor}
		if f.Major {
			it.weight = weightMajor
		}
		from := len(places)
		p, _ := g.sheet.at(field, f.Site)
		places = append(places, p)
		for _, s := range f.Also {
			if p, sited := g.sheet.at(field, s); sited {
				places = append(places, p)
			}
		}
		it.sites = places[from:len(places):len(places)]
		g.lookAt(&it)
		items = append(items, it)
	}
	return items
}

// vitalItems are the vitals that are abnormal at rest, as findings.
func (g *run) vitalItems() []item {
	var items []item
	for i := range g.k.Vitals {
		v := &g.k.Vitals[i]
		field, ok := g.sheet.ids[v.Field]
		if !ok || !v.offside() || g.panting(v, g.standing(field)) {
			continue
		}
		it := item{f: &Finding{Field: v.Field, Value: v.Rest.String(), Major: true, Steps: v.Steps}, field: field, shown: -1, weight: weightMajor}
		from, to := g.sheet.places(field)
		for p := from; p < to; p++ {
			it.sites = append(it.sites, p)
		}
		g.lookAt(&it)
		items = append(items, it)
	}
	return items
}

// settleVital marks a vital that stands for a finding by what it was called.
func (g *run) settleVital(it *item) {
	it.code = codeLeftBlank
	e := g.standing(it.field)
	if e == nil || !e.examined || e.reading.Class != Figure {
		return
	}
	it.entry = e
	it.earned, it.code = calledNormal, codeCalledNormal
	if g.figureAbnormal(e) {
		it.earned, it.code = full, codeCaught
	}
}

// lookAt notes where the finding was shown, and whether anything is known of it.
func (g *run) lookAt(it *item) {
	for _, p := range it.sites {
		t := g.sheet.truths[p]
		if t.act == 0 {
			t = g.sheet.shown(it.field, p)
		}
		if t.act == 0 {
			continue
		}
		if it.shown < 0 {
			it.shown = p
			it.unknown = g.sheet.told(t) == unknownTruth
		}
	}
}

// unknownTruth is the truth of a field that nobody established.
const unknownTruth = "unknown"

// settle marks one finding from the entry found, or from what stands at its place.
func (g *run) settle(it *item) {
	switch {
	case it.unknown:
		it.code = codeUnknown
	case it.shown < 0:
		it.code = codeUnseen
		if g.wasRefused(it.f) {
			it.code = codeRefused
		}
	case g.sheet.fields[it.field].Vital != "":
		g.settleVital(it)
	case it.entry != nil:
		it.earned, it.code = g.worth(it)
	default:
		g.settleNormal(it)
	}
}

func (g *run) wasRefused(f *Finding) bool {
	for _, id := range f.Steps {
		if step, ok := g.steps[id]; ok && g.dids[step].refused > 0 {
			return true
		}
	}
	return false
}

// settleNormal marks a finding for which nothing abnormal was charted.
func (g *run) settleNormal(it *item) {
	it.code = codeLeftBlank
	for _, p := range append([]int32{g.sheet.base[it.field]}, it.sites...) {
		e := g.sheet.on(p)
		if e == nil || !e.examined || (e.reading.Class != Normal && e.reading.Class != Variant) {
			continue
		}
		it.entry = e
		if c := g.classOfTruth(e); c == Normal || c == Variant {
			if slices.Contains(it.sites[:1], e.place) || !e.sited {
				it.earned, it.code = full, codeSettled
				return
			}
			continue
		}
		it.earned, it.code = calledNormal, codeCalledNormal
		return
	}
	if it.code == codeLeftBlank {
		it.entry = nil
	}
}

// worth is what an abnormal entry earns for a finding, and why.
func (g *run) worth(it *item) (int64, string) {
	call, lost := int64(full), int64(0)
	if it.f.Site != "" && g.sheet.fields[it.entry.field].PerSite {
		call -= partSite
		if !it.atSite || !it.entry.sited {
			lost += partSite
		}
	}
	off := int64(0)
	if it.entry.field == it.field {
		off = g.off(it, call)
	}
	return full - lost - off, g.howFar(it, lost, off)
}

// off is what an entry in the finding's own field loses by its value.
func (g *run) off(it *item, call int64) int64 {
	f := &g.sheet.fields[it.field]
	truth := it.f.Value
	if it.atSite && it.entry.place == it.sites[0] && g.classOfTruth(it.entry) == Abnormal {
		truth = it.entry.truth
	}
	switch want, err := f.Read(truth); {
	case err != nil:
	case f.Kind == "grade":
		if apart(int64(want.Choice), int64(it.entry.reading.Choice)) > int64(max(0, f.Tolerance)) {
			return partGrade
		}
	case f.Kind == "choice":
		if want.Choice != it.entry.reading.Choice {
			return call / 2
		}
	default:
		if apart(int64(want.Number), int64(it.entry.reading.Number)) > int64(clampTo(f.Tolerance, 0, 1<<20))*1000 {
			return partGrade
		}
	}
	return 0
}

func apart(a, b int64) int64 { return max(a-b, b-a) }

// howOf names what became of a finding in a FindingRead.
var howOf = map[string]string{codeCaught: "caught", codeSettled: "caught", codePartly: "partly", codeSwapped: "partly", codeMisplaced: "partly", codeCalledNormal: "normal",
	codeLeftBlank: "blank", codeUnseen: "unseen", codeRefused: "refused", codeUnknown: "unknown"}

func (g *run) writeItems(d *tally, items []item, parts *portions, judged int64) {
	pool := portions{sum: judged}
	if judged > 0 {
		pool.total = parts.next(partAbnormal)
	} else if len(items) > 0 {
		d.drop("abnormal", "nothing-seen")
	}
	for i := range items {
		it := &items[i]
		var limit Points
		if it.shown >= 0 && !it.unknown {
			limit = pool.next(it.weight)
		}
		g.writeItem(d, it, limit)
	}
}

func (g *run) writeItem(d *tally, it *item, limit Points) {
	charted, acts := "", []int(nil)
	chartedSite, chartedField := "", it.f.Field
	if it.shown >= 0 {
		acts = append(acts, g.n(g.sheet.truths[g.shownPlace(it)].act))
	}
	truth := it.f.Value
	if it.entry != nil {
		charted, acts = g.sheet.value(it.entry), append(acts, g.n(it.entry.act+1))
		chartedSite, chartedField = g.sheet.site(it.entry.field, it.entry.place), g.sheet.fields[it.entry.field].ID
		if it.entry.truth != "" && it.entry.place == it.sites[0] {
			truth = it.entry.truth
		}
	}
	if it.mirror != nil {
		charted, chartedSite, acts = g.sheet.value(it.mirror), g.sheet.site(it.mirror.field, it.mirror.place), append(acts, g.n(it.mirror.act+1))
	}
	steps, acts := join(it.f.Steps), sorted(acts)
	d.add(placeName(it.f.Field, it.f.Site), share(limit, it.earned, full), limit, it.code, acts,
		Arg{"field", it.f.Field}, Arg{"site", it.f.Site}, Arg{"truth", truth}, Arg{"charted", charted},
		Arg{"as", chartedField}, Arg{"at", chartedSite}, Arg{"steps", steps}, Arg{"gap", g.gapAt(it)})
	read := FindingRead{Place: Place{it.f.Field, it.f.Site}, Truth: truth, Charted: charted, How: howOf[it.code], Steps: it.f.Steps, Acts: acts}
	if read.Steps == nil {
		read.Steps = []string{}
	}
	if read.Acts == nil {
		read.Acts = []int{}
	}
	g.rep.Findings = append(g.rep.Findings, read)
}

// gapAt is the reason where the sheet owns that the finding's place was not
// examined.
func (g *run) gapAt(it *item) string {
	for _, p := range [2]int32{it.sites[0], g.sheet.base[it.field]} {
		if reason := g.gap(g.sheet.on(p)); reason != "" {
			return reason
		}
	}
	return ""
}

// shownPlace is the place whose truth showed the finding.
func (g *run) shownPlace(it *item) int32 {
	if g.sheet.truths[it.shown].act > 0 {
		return it.shown
	}
	if bare := g.sheet.base[it.field]; g.sheet.truths[bare].act > 0 {
		return bare
	}
	return g.sheet.last[it.field]
}

func placeName(field, site string) string {
	if site == "" {
		return field
	}
	return field + "@" + site
}
