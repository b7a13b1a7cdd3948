package rubric

import (
	"slices"
	"strings"
)

const (
	handlingPart = 500
	costMajor    = 250
	costMinor    = 100
)

func (g *run) canHandle() bool { return g.required > 0 || len(g.k.Precautions) > 0 }

// handling marks max(0, precautions earned / expected - .25 major - .1 minor a
// hazard) x min(1, done / .5). A critical event fails the case and costs no
// points as well.
func (g *run) handling(d *tally) {
	if len(g.k.Precautions) == 0 {
		d.add("care", d.max, d.max, codeCare, nil)
	}
	parts := portions{total: d.max, sum: int64(len(g.k.Precautions))}
	for i := range g.k.Precautions {
		g.precaution(d, &g.k.Precautions[i], parts.next(1))
	}
	for i := range g.events {
		g.hazard(d, &g.events[i])
	}
	d.floor()
	g.guard(d, handlingPart)
}

// hazardRows is the table of severities.
var hazardRows = map[string]struct {
	cost int64
	code string
}{
	"minor":    {costMinor, codeHazardMinor},
	"major":    {costMajor, codeHazardMajor},
	"critical": {0, codeHazardCritical},
}

func (g *run) hazard(d *tally, h *happening) {
	row, ok := hazardRows[h.event.Severity]
	if !ok {
		row = hazardRows["minor"]
	}
	acts := h.acts
	if h.event.Sign > 0 {
		acts = append([]int{h.event.Sign}, acts...)
	}
	d.add("hazard/"+h.event.ID, -share(d.max, row.cost, 1000), 0, row.code, sorted(acts),
		Arg{"hazard", h.event.ID}, Arg{"why", h.event.Why}, Arg{"sign", itoa(h.event.Sign)}, Arg{"times", itoa(len(h.acts))})
	if h.event.Severity == "critical" {
		g.rep.Critical = append(g.rep.Critical, *h.event)
	}
}

// precautionRows is the table of kinds.
var precautionRows = map[string]func(*run, *Precaution) (kept, met bool, acts []int){
	"before": (*run).keptBefore,
	"last":   (*run).keptLast,
	"gentle": (*run).keptGentle,
	"done":   (*run).keptDone,
}

func (g *run) precaution(d *tally, p *Precaution, limit Points) {
	kind, ok := precautionRows[p.Kind]
	if !ok {
		kind = (*run).keptDone
	}
	kept, met, acts := kind(g, p)
	points, code := Points(0), codePrecautionMiss
	switch {
	case kept:
		points, code = limit, codePrecaution
	case !met:
		code = codePrecautionNone
	}
	d.add("precaution/"+p.ID, points, limit, code, sorted(acts),
		Arg{"precaution", p.ID}, Arg{"kind", p.Kind}, Arg{"done", join(p.Done)}, Arg{"steps", join(p.Steps)}, Arg{"among", join(p.Among)})
}

// keptBefore: one of Done stands before the first of Steps.
func (g *run) keptBefore(p *Precaution) (kept, met bool, acts []int) {
	var before, first int32
	g.each(p.Steps, nil, func(s doing) {
		if first == 0 || s.pos < first {
			first = s.pos
		}
	})
	g.each(p.Done, nil, func(b doing) {
		if before == 0 || b.pos < before {
			before = b.pos
		}
	})
	if first == 0 {
		return false, false, nil
	}
	acts = append(acts, g.n(first))
	if before > 0 {
		acts = append(acts, g.n(before))
	}
	return before > 0 && before < first, true, acts
}

// keptLast: every one of Steps that was done stands after every done one of
// Among, site by site; a site that is in both counts as one of Steps. Up to
// three required steps of other stages, caught up at the very end, are
// forgiven, as in Order. Where nothing of Among was done there is nothing that
// the sore place could have come after.
func (g *run) keptLast(p *Precaution) (kept, met bool, acts []int) {
	sore := make([]bool, len(g.spots))
	var stages []string
	var first, last int32
	g.eachSpot(p.Steps, func(step, at int32) {
		sore[at] = true
		if pos := g.spots[at].first; pos > 0 && (first == 0 || pos < first) {
			first = pos
		}
		if s := g.k.Steps[step].Stage; g.spots[at].first > 0 && !slices.Contains(stages, s) {
			stages = append(stages, s)
		}
	})
	if first == 0 {
		return false, false, nil
	}
	late, compared := g.caughtUp(stages), false
	g.eachSpot(p.Among, func(step, at int32) {
		compared = compared || !sore[at] && g.spots[at].first > 0
		if !sore[at] && !slices.Contains(late, step) {
			last = max(last, g.spots[at].first)
		}
	})
	acts = append(acts, g.n(first))
	if last > 0 {
		acts = append(acts, g.n(last))
	}
	return compared && last < first, compared, acts
}

// eachSpot calls do for every site of every examine that the items name. A step
// without sites is named by step@site too: its sites are instead of each other.
func (g *run) eachSpot(items []string, do func(step, at int32)) {
	for _, item := range items {
		for i := range g.k.Steps {
			s := &g.k.Steps[i]
			if s.Kind == Handle || !(item == s.ID || item == "touch" && s.Touch || strings.HasPrefix(item, s.ID) && strings.HasPrefix(item[len(s.ID):], "@")) {
				continue
			}
			from := g.siteBase[i]
			for j := range g.spotsOf(int32(i)) {
				if len(s.Sites) == 0 || item == s.ID || item == "touch" || item[len(s.ID)+1:] == site(s.Sites, j) {
					do(int32(i), from+int32(j))
				}
			}
		}
	}
}

// caughtUp are the up to three required steps at the very end that are in none
// of the stages.
func (g *run) caughtUp(stages []string) []int32 {
	from := len(g.firsts)
	for from > 0 && len(g.firsts)-from < lateMost {
		s := &g.k.Steps[g.firsts[from-1]]
		if !s.Required || slices.Contains(stages, s.Stage) {
			break
		}
		from--
	}
	return g.firsts[from:]
}

// keptGentle: every one of Steps that was done was always done gently.
func (g *run) keptGentle(p *Precaution) (kept, met bool, acts []int) {
	kept = true
	var done []int
	for _, v := range g.visits {
		if !g.names(p.Steps, v) {
			continue
		}
		met = true
		done = append(done, g.t[v.pos].Act.N)
		if g.t[v.pos].Act.Manner != "gentle" {
			kept = false
			acts = append(acts, g.t[v.pos].Act.N)
		}
	}
	if kept {
		acts = done
	}
	return kept && met, met, acts
}

// names says whether the items name what a visit did.
func (g *run) names(items []string, v visit) bool {
	s := &g.k.Steps[v.step]
	for _, item := range items {
		switch {
		case item == s.ID, item == "touch" && s.Touch:
			return true
		case !strings.HasPrefix(item, s.ID) || !strings.HasPrefix(item[len(s.ID):], "@"):
		case len(s.Sites) == 0, v.site >= 0 && item[len(s.ID)+1:] == s.Sites[v.site-g.siteBase[v.step]]:
			return true
		}
	}
	return false
}

// keptDone: one of Done was done at all.
func (g *run) keptDone(p *Precaution) (kept, met bool, acts []int) {
	g.each(p.Done, nil, func(b doing) {
		kept = true
		acts = append(acts, g.n(b.pos))
	})
	return kept, true, acts
}
