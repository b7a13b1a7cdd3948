package rubric

import "slices"

// day bounds the seconds of one contact, so that sums never overflow.
const day = 24 * 60 * 60

// run is one grading: the key indexed by small numbers, and what the
// transcript did, gathered in one pass.
type run struct {
	store
	r   *Rubric
	k   *Key
	t   Transcript
	rep *Report

	steps    map[string]int32
	siteBase []int32 // by step: its first spot
	spots    []spot  // one a site of every step; a step without sites has one
	dids     []did   // by step
	visits   []visit // every examine that was done, in order
	firsts   []int32 // steps (examine, and handling the key knows) in the order of their first doing

	handled map[string]int32 // how -> position of the first, plus 1
	asked   map[string]int32 // topic -> the same
	ask     int32            // the first question, plus 1
	wait    int32
	ends    int32 // the last conclude, plus 1
	events  []happening
	strange []stranger

	sheet       *sheet
	required    int // required steps
	doneSteps   int // of them done
	heldCharted bool
}

// spot is one site of a step.
type spot struct {
	first   int32 // position of the first doing, plus 1; 0: never
	seconds int
}

// did is what happened to a step at any site.
type did struct {
	first, refused int32 // positions plus 1
}

// visit is one examine.
type visit struct{ step, site, pos int32 }

// happening is a hazard with the acts at which it was met.
type happening struct {
	event *Event
	acts  []int
}

func newRun(r *Rubric, k *Key, t Transcript) *run {
	g := &run{r: r, k: k, t: t, steps: make(map[string]int32, len(k.Steps)), siteBase: make([]int32, len(k.Steps)),
		dids: make([]did, len(k.Steps)), firsts: make([]int32, 0, len(k.Steps)),
		handled: map[string]int32{}, asked: map[string]int32{}, sheet: newSheet(k.Fields, t, k.Static)}
	examines, records := 0, 0
	for i := range t {
		switch t[i].Act.Kind {
		case Examine:
			examines++
		case Record:
			records++
		}
	}
	g.visits = make([]visit, 0, examines)
	g.sheet.entries = make([]entry, 0, records+records/2)
	n := int32(0)
	for i := range k.Steps {
		s := &k.Steps[i]
		g.steps[s.ID] = int32(i)
		g.siteBase[i] = n
		n += int32(max(1, len(s.Sites)))
		if s.Required {
			g.required++
		}
	}
	g.spots = make([]spot, n)
	return g
}

// follow goes through the transcript once.
func (g *run) follow() {
	for i := range g.t {
		a, o := &g.t[i].Act, &g.t[i].Outcome
		if o.Closed != nil {
			g.close(o.Closed)
		}
		for j := range o.Events {
			g.meet(&o.Events[j], a.N)
		}
		switch a.Kind {
		case Examine:
			g.examine(a, o, i)
		case Record:
			if e := g.sheet.take(a, i); e != nil {
				e.contact = int32(g.contactOf(e.field))
			}
		case Handle:
			g.handle(a, o, i)
		case Ask:
			note(g.asked, a.Topic, i)
			g.ask = first(g.ask, i)
		case Wait:
			g.wait = first(g.wait, i)
		case Conclude:
			g.ends = int32(i) + 1
		}
	}
	for i := range g.k.Steps {
		if g.k.Steps[i].Required && g.dids[i].first > 0 {
			g.doneSteps++
		}
	}
}

// first keeps the earliest position, plus 1.
func first(had int32, pos int) int32 {
	if had > 0 {
		return had
	}
	return int32(pos) + 1
}

func note(m map[string]int32, id string, pos int) {
	if _, ok := m[id]; !ok {
		m[id] = int32(pos) + 1
	}
}

func (g *run) examine(a *Act, o *Outcome, pos int) {
	step, ok := g.steps[a.Step]
	if !ok || g.k.Steps[step].Kind == Handle {
		g.meetStrange(codeStepUnknown, a)
		g.sheet.showAll(o, pos)
		return
	}
	site := g.siteOf(step, a.Site)
	if site < 0 {
		g.meetStrange(codeSiteUnknown, a)
	}
	d := &g.dids[step]
	if o.Refused {
		d.refused = first(d.refused, pos)
		return
	}
	if d.first == 0 {
		g.firsts = append(g.firsts, step)
	}
	d.first = first(d.first, pos)
	if site >= 0 {
		sp := &g.spots[site]
		sp.first = first(sp.first, pos)
		sp.seconds += clampTo(a.Seconds, 0, day)
	}
	g.visits = append(g.visits, visit{step, site, int32(pos)})
	if len(o.Shown) == 0 && len(g.k.Static) > 0 {
		g.showStatic(step, a.Site, pos)
		return
	}
	g.sheet.showAll(o, pos)
}

// siteOf is the spot of a step at a site, -1 where the step has sites and this
// is none of them.
func (g *run) siteOf(step int32, site string) int32 {
	s := &g.k.Steps[step]
	if len(s.Sites) == 0 {
		return g.siteBase[step]
	}
	if i := slices.Index(s.Sites, site); i >= 0 {
		return g.siteBase[step] + int32(i)
	}
	return -1
}

// spotsOf are the sites of a step.
func (g *run) spotsOf(step int32) []spot {
	from := g.siteBase[step]
	return g.spots[from : from+int32(max(1, len(g.k.Steps[step].Sites)))]
}

// showStatic shows what the key says where no patient is simulated.
func (g *run) showStatic(step int32, site string, pos int) {
	for i := range g.k.Static {
		s := &g.k.Static[i]
		if slices.Contains(g.k.Steps[step].Reveals, s.Field) && (s.Site == "" || site == "" || s.Site == site) {
			g.sheet.show(s, pos, -int32(i)-1)
		}
	}
}

// close adds the seconds of a contact to the examine that opened it.
func (g *run) close(c *Contact) {
	i := c.Of - 1
	if i < 0 || i >= len(g.t) || g.t[i].Act.N != c.Of || g.t[i].Act.Kind != Examine || g.t[i].Outcome.Refused {
		return
	}
	step, ok := g.steps[g.t[i].Act.Step]
	if !ok {
		return
	}
	if site := g.siteOf(step, g.t[i].Act.Site); site >= 0 {
		g.spots[site].seconds += clampTo(c.Seconds, 0, day)
	}
}

func (g *run) handle(a *Act, o *Outcome, pos int) {
	if o.Refused {
		return
	}
	if _, ok := g.handled[a.How]; ok {
		return
	}
	g.handled[a.How] = int32(pos) + 1
	for i := range g.k.Steps {
		s := &g.k.Steps[i]
		if s.Kind == Handle && len(s.ID) == len(handlePrefix)+len(a.How) && s.ID[len(handlePrefix):] == a.How {
			g.dids[i].first = int32(pos) + 1
			g.spots[g.siteBase[i]].first = int32(pos) + 1
			g.firsts = append(g.firsts, int32(i))
		}
	}
}

// handlePrefix marks a handling act among step ids.
const handlePrefix = "handle:"

// meet notes a hazard; the same hazard met again is the same hazard.
func (g *run) meet(e *Event, n int) {
	for i := range g.events {
		if g.events[i].event.ID == e.ID {
			g.events[i].acts = append(g.events[i].acts, n)
			return
		}
	}
	g.events = append(g.events, happening{e, []int{n}})
}

// contactOf is the longest contact at one site of a step that measures the
// field, until now.
func (g *run) contactOf(field int32) int {
	if g.sheet.fields[field].Vital == "" {
		return 0
	}
	best := 0
	for i := range g.k.Vitals {
		if g.k.Vitals[i].Field != g.sheet.fields[field].ID {
			continue
		}
		for _, id := range g.k.Vitals[i].Steps {
			if step, ok := g.steps[id]; ok {
				for _, sp := range g.spotsOf(step) {
					best = max(best, sp.seconds)
				}
			}
		}
	}
	return min(best, 1<<30)
}

// n is the number of the act at a position plus 1; acts are named so in lines.
func (g *run) n(posPlus1 int32) int { return g.t[posPlus1-1].Act.N }

// guard is min(1, done / part) with part in thousandths, as a line.
func (g *run) guard(d *tally, part int64) {
	d.scale("guard", codeGuard, int64(g.doneSteps)*1000, int64(g.required)*part,
		Arg{"done", itoa(g.doneSteps)}, Arg{"required", itoa(g.required)}, Arg{"part", itoa(int(part / 10))})
}
