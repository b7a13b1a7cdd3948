package rubric

import "slices"

// unitsMost bounds the groups of steps that move together over a route, so
// that a nonsensical key costs little; a catalogue has about twenty.
const unitsMost = 96

// walkMap lays the steps that were done out for comparison with routes. Steps
// of one stage are one unit; a step that may stand elsewhere, because it has
// AlsoIn or floats in some route, is a unit of its own.
type walkMap struct {
	g      *run
	stages []string
	homes  []int32   // by step: its stage; -1: none
	unit   []int32   // by step; -1: none
	owner  []int32   // by unit: its step where it is a step's own unit, else -1
	stage  []int32   // by unit: its stage
	floats []bool    // by step: floats in some route
	before []int32   // unit x unit: pairs of steps walked in this order
	places []int32   // by unit: where the route being tried has it; -1: nowhere
	opts   [][]int32 // by unit: where the route allows it
	kept   []int32   // places of the best route
	other  []int32   // places from the first setting out
}

func newWalkMap(g *run) *walkMap {
	n := len(g.k.Steps)
	m := &walkMap{g: g, stages: slices.Clip(g.k.Stages), homes: make([]int32, n), unit: make([]int32, n), floats: make([]bool, n)}
	for i := range g.k.Routes {
		for j := range g.k.Routes[i].Floats {
			for _, id := range g.k.Routes[i].Floats[j].Steps {
				if step, ok := g.steps[id]; ok {
					m.floats[step] = true
				}
			}
		}
	}
	byStage := make([]int32, len(m.stages), len(m.stages)+8)
	for i := range g.k.Steps {
		s := &g.k.Steps[i]
		m.homes[i], m.unit[i] = -1, -1
		if s.Kind == Handle || s.Stage == "" {
			continue
		}
		m.homes[i] = m.stageID(s.Stage)
		for _, a := range s.AlsoIn {
			m.stageID(a)
		}
		for len(byStage) < len(m.stages) {
			byStage = append(byStage, 0)
		}
		m.unit[i] = m.unitOf(int32(i), byStage)
	}
	m.before = make([]int32, len(m.owner)*len(m.owner))
	m.places = make([]int32, len(m.owner))
	m.opts = make([][]int32, len(m.owner))
	room := make([]int32, placesMost*len(m.owner))
	for u := range m.opts {
		m.opts[u] = room[u*placesMost : u*placesMost : (u+1)*placesMost]
	}
	return m
}

// placesMost is how many places a unit mostly has at most.
const placesMost = 4

// stageID is the number of a stage; one that the key does not list gets the next.
func (m *walkMap) stageID(name string) int32 {
	id := slices.Index(m.stages, name)
	if id < 0 {
		id = len(m.stages)
		m.stages = append(m.stages, name)
	}
	return int32(id)
}

// also are the names of other stages that a step may belong to.
func (m *walkMap) also(step int32) []string { return m.g.k.Steps[step].AlsoIn }

// unitOf makes or finds the unit of a step; only steps that were done need one.
func (m *walkMap) unitOf(step int32, byStage []int32) int32 {
	if m.g.dids[step].first == 0 {
		return -1
	}
	own := m.floats[step] || len(m.also(step)) > 0
	home := m.homes[step]
	if !own && byStage[home] > 0 {
		return byStage[home] - 1
	}
	if len(m.owner) >= unitsMost {
		return -1
	}
	owner := int32(-1)
	if own {
		owner = step
	}
	m.owner, m.stage = append(m.owner, owner), append(m.stage, home)
	id := int32(len(m.owner)) - 1
	if !own {
		byStage[home] = id + 1
	}
	return id
}

// layOut notes where the route allows every unit: 1 to n are its groups, where
// first is beside the first group, and n+1 is last.
func (m *walkMap) layOut(r *Route) {
	ranks := make([]int32, len(m.stages))
	for i, group := range r.Order {
		for _, s := range group {
			if id := slices.Index(m.stages, s); id >= 0 && ranks[id] == 0 {
				ranks[id] = int32(i) + 1
			}
		}
	}
	last := int32(len(r.Order)) + 1
	for u := range m.opts {
		m.opts[u] = m.opts[u][:0]
		if f := m.floatOf(r, u); f != nil && !slices.Contains(f.Places, "in place") {
			m.opts[u] = floatPlaces(m.opts[u], f, last)
		} else {
			m.opts[u] = m.inPlace(u, ranks)
			if f != nil {
				m.opts[u] = floatPlaces(m.opts[u], f, last)
			}
		}
		m.places[u] = -1
		if len(m.opts[u]) > 0 {
			m.places[u] = m.opts[u][0]
		}
	}
}

// inPlace lists the route's places for the unit's own stages.
func (m *walkMap) inPlace(u int, ranks []int32) []int32 {
	opts := m.opts[u]
	if r := ranks[m.stage[u]]; r > 0 {
		opts = append(opts, r)
	}
	if s := m.owner[u]; s >= 0 {
		for _, stage := range m.also(s) {
			if r := ranks[m.stageID(stage)]; r > 0 && !slices.Contains(opts, r) {
				opts = append(opts, r)
			}
		}
	}
	return opts
}

func floatPlaces(opts []int32, f *Float, last int32) []int32 {
	if slices.Contains(f.Places, "first") {
		opts = append(opts, 1) // beside the first group: looking from a distance comes before it or after
	}
	if slices.Contains(f.Places, "last") {
		opts = append(opts, last)
	}
	return opts
}

// floatOf is the float that covers a unit: that of its step, else that of its stage.
func (m *walkMap) floatOf(r *Route, u int) *Float {
	for i := range r.Floats {
		if s := m.owner[u]; s >= 0 && slices.Contains(r.Floats[i].Steps, m.g.k.Steps[s].ID) {
			return &r.Floats[i]
		}
	}
	for i := range r.Floats {
		for _, s := range r.Floats[i].Stages {
			if m.stages[m.stage[u]] == s {
				return &r.Floats[i]
			}
		}
	}
	return nil
}

// returns counts how often the walk re-entered a stage already left, and the
// stages visited. A step that floats and a measurement done again are on no
// way; a step that may belong to several stages belongs where it suits.
func (m *walkMap) returns(left []int32) (returns, visited int, back []int) {
	been := make([]bool, len(m.stages))
	seen := make([]bool, len(m.homes))
	kept := m.keptForLast()
	at := int32(-1)
	for _, v := range m.g.visits {
		again := seen[v.step]
		seen[v.step] = true
		if m.homes[v.step] < 0 || m.floats[v.step] || (again && m.g.k.Steps[v.step].Measure) || slices.Contains(left, v.step) {
			continue
		}
		if v.site >= 0 && kept[v.site] {
			continue
		}
		stage := m.suits(v.step, at, been)
		if stage == at {
			continue
		}
		if been[stage] {
			returns++
			back = append(back, m.g.t[v.pos].Act.N)
		} else {
			been[stage] = true
			visited++
		}
		at = stage
	}
	return returns, visited, back
}

// keptForLast marks the sites that a precaution wants last, such as a sore limb:
// to come back for them is right and no return.
func (m *walkMap) keptForLast() []bool {
	kept := make([]bool, len(m.g.spots))
	for i := range m.g.k.Precautions {
		if p := &m.g.k.Precautions[i]; p.Kind == "last" {
			m.g.eachSpot(p.Steps, func(_, at int32) { kept[at] = true })
		}
	}
	return kept
}

func (m *walkMap) suits(step, at int32, been []bool) int32 {
	home := m.homes[step]
	if home == at || at >= 0 && slices.Contains(m.also(step), m.stages[at]) {
		return at
	}
	if been[home] {
		for _, s := range m.also(step) {
			if id := m.stageID(s); !been[id] {
				return id
			}
		}
	}
	return home
}

// walk is the route walked beside the nearest accepted one, as best placed it.
func (m *walkMap) walk(route int) Walk {
	w := Walk{Steps: make([]Walked, 0, len(m.g.firsts))}
	if route >= 0 {
		w.Nearest = m.g.k.Routes[route].ID
	}
	ranks := make([]int32, 0, len(m.g.firsts))
	for _, s := range m.g.firsts {
		step := &m.g.k.Steps[s]
		if step.Kind == Handle {
			continue
		}
		w.Steps = append(w.Steps, Walked{Step: step.ID, Stage: step.Stage, Act: m.g.n(m.g.dids[s].first)})
		rank := int32(-1)
		if u := m.unit[s]; u >= 0 && route >= 0 {
			rank = m.kept[u]
		}
		ranks = append(ranks, rank)
	}
	for i, keep := range longestRise(ranks) {
		w.Steps[i].Move = !keep && ranks[i] >= 0
	}
	return w
}

// longestRise marks a longest non-decreasing subsequence of the ranks that are
// not negative. What is off it are the fewest things to move.
func longestRise(ranks []int32) []bool {
	tails := make([]int32, 0, 16) // by length: index of the smallest end
	prev := make([]int32, len(ranks))
	for i, r := range ranks {
		if r < 0 {
			continue
		}
		at, _ := slices.BinarySearchFunc(tails, r, func(j, r int32) int {
			if ranks[j] <= r {
				return -1
			}
			return 1
		})
		prev[i] = -1
		if at > 0 {
			prev[i] = tails[at-1]
		}
		if at == len(tails) {
			tails = append(tails, int32(i))
		} else {
			tails[at] = int32(i)
		}
	}
	keep := make([]bool, len(ranks))
	if len(tails) > 0 {
		for i := tails[len(tails)-1]; i >= 0; i = prev[i] {
			keep[i] = true
		}
	}
	return keep
}
