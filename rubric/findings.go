package rubric

import (
	"slices"
)

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
	f        *Finding
	field    int32
	sites    []int32 // places where it may be charted: its own, then Also
	shown    int32   // place that was shown; -1: none
	unknown  bool
	entry    *entry // what was charted for it
	atSite   bool
	earned   int64 // parts per million
	weight   int64
	code     string
	settled  bool // the truth had become normal when last looked at
	siteWord string
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
// without an abnormality max(0, N - .05 FA - .10 U). Vitals are no items here.
func (g *run) findings(d *tally) {
	items := g.items()
	used := g.match(items)
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
		it := item{f: f, field: field, shown: -1, weight: weightMinor, siteWord: f.Site}
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
				it.earned, it.code, it.settled = full, codeSettled, true
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

// worth is what an abnormal entry earns for a finding.
func (g *run) worth(it *item) (int64, string) {
	f := &g.sheet.fields[it.field]
	call, lost := int64(full), int64(0)
	if it.f.Site != "" && g.sheet.fields[it.entry.field].PerSite {
		call -= partSite
		if !it.atSite || !it.entry.sited {
			lost += partSite
		}
	}
	truth := it.f.Value
	if it.atSite && it.entry.place == it.sites[0] && g.classOfTruth(it.entry) == Abnormal {
		truth = it.entry.truth
	}
	if it.entry.field != it.field {
		return full - lost, codeOf(lost)
	}
	switch want, err := f.Read(truth); {
	case err != nil:
	case f.Kind == "grade":
		call -= partGrade
		if apart(int(want.Choice), int(it.entry.reading.Choice)) > max(0, f.Tolerance) {
			lost += partGrade
		}
	case f.Kind == "choice":
		if want.Choice != it.entry.reading.Choice {
			lost += call / 2
		}
	default:
		call -= partGrade
		if apart(int(clampTo(want.Number, 0, 1<<50)), int(it.entry.reading.Number)) > clampTo(f.Tolerance, 0, 1<<20)*1000 {
			lost += partGrade
		}
	}
	return full - lost, codeOf(lost)
}

func codeOf(lost int64) string {
	if lost > 0 {
		return codePartly
	}
	return codeCaught
}

func apart(a, b int) int { return max(a-b, b-a) }

// howOf names what became of a finding in a FindingRead.
var howOf = map[string]string{codeCaught: "caught", codeSettled: "caught", codePartly: "partly", codeCalledNormal: "normal",
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
	steps := join(it.f.Steps)
	d.add(placeName(it.f.Field, it.f.Site), share(limit, it.earned, full), limit, it.code, sorted(acts),
		Arg{"field", it.f.Field}, Arg{"site", it.f.Site}, Arg{"truth", truth}, Arg{"charted", charted},
		Arg{"as", chartedField}, Arg{"at", chartedSite}, Arg{"steps", steps})
	read := FindingRead{Place: Place{it.f.Field, it.f.Site}, Truth: truth, Charted: charted, How: howOf[it.code], Steps: it.f.Steps, Acts: acts}
	if read.Steps == nil {
		read.Steps = []string{}
	}
	if read.Acts == nil {
		read.Acts = []int{}
	}
	g.rep.Findings = append(g.rep.Findings, read)
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
			if f := &g.sheet.fields[i]; needed[f.ID] && f.Vital == "" && len(f.Normal) > 0 {
				list = append(list, negative{int32(i), ""})
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
	var acts []int
	for p := from; p < to; p++ {
		t := g.sheet.truths[p]
		if t.act == 0 {
			t = g.sheet.truths[g.sheet.base[n.field]]
		}
		if t.act == 0 {
			continue
		}
		examined++
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
				Arg{"field", f.ID}, Arg{"charted", g.sheet.value(e)})
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

// unreadable says which records could not be read. They earn nothing.
func (g *run) unreadable(d *tally) {
	for i := range g.sheet.problem {
		p := &g.sheet.problem[i]
		code := codeNoField
		if p.known {
			code = codeUnreadable
		}
		d.note("unreadable/"+p.field, code, []int{g.n(p.act + 1)}, Arg{"field", p.field}, Arg{"charted", clip(p.value)})
	}
}
