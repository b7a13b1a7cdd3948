package rubric

// Engine is the version of the grading engine; every report names it.
const Engine = "dewclaw-rubric 1.2.0"

// The domains, in the order of a report.
const (
	DomainOrder        = "order"
	DomainCompleteness = "completeness"
	DomainFindings     = "findings"
	DomainVitals       = "vitals"
	DomainHandling     = "handling"
	DomainConclusions  = "conclusions"
)

// judges is the table of domains: what each weighs, whether the key holds
// anything to judge it by, and how.
var judges = []struct {
	id     string
	weight func(*Weights) int
	can    func(*run) bool
	judge  func(*run, *tally)
}{
	{DomainOrder, func(w *Weights) int { return w.Order }, (*run).canOrder, (*run).order},
	{DomainCompleteness, func(w *Weights) int { return w.Completeness }, (*run).canComplete, (*run).completeness},
	{DomainFindings, func(w *Weights) int { return w.Findings }, (*run).canFind, (*run).findings},
	{DomainVitals, func(w *Weights) int { return w.Vitals }, (*run).canMeasure, (*run).vitals},
	{DomainHandling, func(w *Weights) int { return w.Handling }, (*run).canHandle, (*run).handling},
	{DomainConclusions, func(w *Weights) int { return w.Conclusions }, (*run).canConclude, (*run).conclusions},
}

// Grade marks one attempt. It is total and pure: it never fails, never panics
// and gives the same bytes for the same input on every processor. It reads the
// outcomes, never a simulator. The contract and the laws stand in doc.go.
func Grade(r Rubric, k Key, t Transcript) Report {
	g := newRun(&r, &k, t)
	g.follow()
	rep := Report{Critical: []Event{}, Held: []string{}, Engine: Engine, Domains: make([]Domain, 0, len(judges)),
		Walk: Walk{Steps: []Walked{}}, Vitals: []VitalRead{}, Findings: []FindingRead{}}
	g.rep = &rep
	weights, can := g.weights()
	for i := range judges {
		d := &tally{store: &g.store, id: judges[i].id, max: weights[i], lines: make([]Line, 0, g.expect(judges[i].id))}
		if can[i] {
			judges[i].judge(g, d)
		} else {
			d.note("dropped", codeDomainDropped, nil, Arg{"domain", d.id})
		}
		rep.Total += d.sum
		rep.Domains = append(rep.Domains, d.domain())
	}
	g.verdict(can)
	rep.Sure = g.sures()
	return rep
}

// weights are the points of every domain. A domain for which the key holds
// nothing to judge by drops out and the others share its weight.
func (g *run) weights() (points [6]Points, can [6]bool) {
	all := portions{}
	for i := range judges {
		w := int64(clampTo(judges[i].weight(&g.r.Weights), 0, 1000))
		can[i] = judges[i].can(g)
		all.total += Points(w * 1000)
		if can[i] {
			all.sum += w
		}
	}
	if all.sum == 0 {
		return points, can
	}
	for i := range judges {
		if can[i] {
			points[i] = all.next(int64(clampTo(judges[i].weight(&g.r.Weights), 0, 1000)))
		}
	}
	return points, can
}

// expect is about how many lines a domain will have.
func (g *run) expect(domain string) int {
	switch domain {
	case DomainCompleteness:
		return g.required + len(g.k.Topics)
	case DomainOrder:
		return len(g.k.Rules) + 6
	case DomainFindings:
		return len(g.k.Findings) + len(g.k.Negatives) + 6
	case DomainVitals:
		return 2*len(g.k.Vitals) + 4
	}
	return 8
}

// verdict settles pass and what a person must look at.
func (g *run) verdict(can [6]bool) {
	rep := g.rep
	judged := false
	rep.Pass = rep.Total >= g.r.Pass && len(rep.Critical) == 0
	for i := range rep.Domains {
		judged = judged || can[i]
		for _, h := range g.r.Hurdles {
			d := &rep.Domains[i]
			if h.Domain == d.ID && can[i] && d.Points*1000 < d.Max*Points(clampTo(h.Share, 0, 1000)) {
				rep.Pass = false
			}
		}
	}
	rep.Pass = rep.Pass && judged
	if g.heldCharted {
		rep.Held = append(rep.Held, HeldCharted)
	}
	if len(rep.Critical) > 0 {
		rep.Held = append(rep.Held, HeldCritical)
	}
}
