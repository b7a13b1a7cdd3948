package rubric

// topicWeight is the weight of a required history topic: that of a standard step.
const topicWeight = 2

func (g *run) canComplete() bool { return g.required > 0 || len(g.k.Topics) > 0 }

// completeness marks sum(w c) / sum(w): every required step by the share of
// its sites done adequately, every required history topic by whether it was
// asked. What was left out is charged here, once.
func (g *run) completeness(d *tally) {
	parts := portions{total: d.max, sum: int64(len(g.k.Topics)) * topicWeight}
	for i := range g.k.Steps {
		parts.sum += g.stepWeight(i)
	}
	for i := range g.k.Steps {
		if g.k.Steps[i].Required {
			g.completeStep(d, int32(i), parts.next(g.stepWeight(i)))
		}
	}
	for _, topic := range g.k.Topics {
		limit := parts.next(topicWeight)
		if at := g.asked[topic]; at > 0 {
			d.add("ask:"+topic, limit, limit, codeTopicAsked, []int{g.n(at)}, Arg{"topic", topic})
		} else {
			d.add("ask:"+topic, 0, limit, codeTopicMissing, nil, Arg{"topic", topic})
		}
	}
	g.writeStrange(d)
}

// stranger is an examine that names a step, or a site of it, which this patient
// does not have.
type stranger struct {
	step, site string
	code       string
	acts       []int
}

// meetStrange notes such an examine, each step and site once.
func (g *run) meetStrange(code string, a *Act) {
	site := ""
	if code == codeSiteUnknown {
		site = a.Site
	}
	for i := range g.strange {
		if s := &g.strange[i]; s.step == a.Step && s.site == site {
			s.acts = append(s.acts, a.N)
			return
		}
	}
	g.strange = append(g.strange, stranger{a.Step, site, code, []int{a.N}})
}

// writeStrange says which examines could not be counted: those of another
// patient, or of a mistyped file.
func (g *run) writeStrange(d *tally) {
	for i := range g.strange {
		s := &g.strange[i]
		d.note("unknown/"+placeName(clip(s.step), clip(s.site)), s.code, sorted(s.acts), Arg{"step", clip(s.step)}, Arg{"site", clip(s.site)})
	}
}

func (g *run) stepWeight(i int) int64 {
	if !g.k.Steps[i].Required {
		return 0
	}
	return int64(clampTo(g.k.Steps[i].Weight, 1, 1000))
}

func (g *run) completeStep(d *tally, step int32, limit Points) {
	s := &g.k.Steps[step]
	if s.Kind == Handle {
		g.completeHandling(d, step, limit)
		return
	}
	sites := g.spotsOf(step)
	adequate, brief, undone := 0, -1, -1
	var left, short []string
	for i := range sites {
		switch {
		case sites[i].first > 0 && sites[i].seconds >= s.Least:
			adequate++
		case sites[i].first > 0:
			brief = i
			short = append(short, site(s.Sites, i))
		default:
			if undone < 0 {
				undone = i
			}
			left = append(left, site(s.Sites, i))
		}
	}
	did := g.dids[step]
	points := share(limit, int64(adequate), int64(len(sites)))
	switch {
	case adequate == len(sites):
		d.add(s.ID, points, limit, codeStepDone, []int{g.n(did.first)}, Arg{"step", s.ID})
	case did.first == 0 && did.refused > 0:
		d.add(s.ID, points, limit, codeStepRefused, []int{g.n(did.refused)}, Arg{"step", s.ID})
	case did.first == 0:
		d.add(s.ID, points, limit, codeStepMissing, nil, Arg{"step", s.ID})
	case oneSide(s.Sites, sites) >= 0:
		d.add(s.ID, points, limit, codeStepOneSide, []int{g.n(did.first)}, Arg{"step", s.ID}, Arg{"site", site(s.Sites, oneSide(s.Sites, sites))},
			Arg{"done", itoa(adequate)}, Arg{"sites", itoa(len(sites))},
			Arg{"left", join(left)}, Arg{"short", join(short)}, Arg{"least", itoa(s.Least)})
	case undone >= 0:
		d.add(s.ID, points, limit, codeStepPartly, []int{g.n(did.first)}, Arg{"step", s.ID}, Arg{"site", site(s.Sites, undone)},
			Arg{"done", itoa(adequate)}, Arg{"sites", itoa(len(sites))},
			Arg{"left", join(left)}, Arg{"short", join(short)}, Arg{"least", itoa(s.Least)})
	default:
		d.add(s.ID, points, limit, codeStepBrief, []int{g.n(did.first)}, Arg{"step", s.ID}, Arg{"site", site(s.Sites, brief)},
			Arg{"seconds", itoa(sites[brief].seconds)}, Arg{"least", itoa(s.Least)})
	}
}

// site is the name of a step's i-th site; empty for a step without sites.
func site(sites []string, i int) string {
	if i < 0 || i >= len(sites) {
		return ""
	}
	return sites[i]
}

// completeHandling marks a handling step that the rubric requires. In triage,
// leaving out one that the rubric calls critical is a critical event.
func (g *run) completeHandling(d *tally, step int32, limit Points) {
	s := &g.k.Steps[step]
	how := s.ID
	if len(how) > len(handlePrefix) && how[:len(handlePrefix)] == handlePrefix {
		how = how[len(handlePrefix):]
	}
	if at := g.dids[step].first; at > 0 {
		d.add(s.ID, limit, limit, codeHandled, []int{g.n(at)}, Arg{"how", how})
		return
	}
	if s.Critical && g.k.Situation == "triage" {
		d.add(s.ID, 0, limit, codeOmission, nil, Arg{"how", how})
		g.rep.Critical = append(g.rep.Critical, Event{ID: "omission/" + s.ID, Severity: "critical"})
		return
	}
	d.add(s.ID, 0, limit, codeNotHandled, nil, Arg{"how", how})
}
