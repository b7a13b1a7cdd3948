package rubric

import "slices"

// fit is how well a walk keeps to a route: pairs of steps in different stages
// walked with and against it.
type fit struct {
	route         int
	with, against int
}

func (f *fit) pairs() int { return f.with + f.against }

// better compares shares of pairs in order, then how much could be compared.
func (f *fit) better(o *fit) bool {
	a, b := int64(f.with)*int64(o.pairs()), int64(o.with)*int64(f.pairs())
	switch {
	case o.pairs() == 0 || f.pairs() == 0:
		return f.pairs() > o.pairs()
	case a != b:
		return a > b
	}
	return f.with > o.with
}

// best is the accepted route nearest to what was walked, steps in left aside.
func (m *walkMap) best(left []int32) fit {
	m.count(left)
	best := fit{route: -1}
	for i := range m.g.k.Routes {
		f := m.try(i)
		if f.better(&best) {
			best = f
			m.kept = append(m.kept[:0], m.places...)
		}
	}
	return best
}

// count fills the table of pairs.
func (m *walkMap) count(left []int32) {
	n := len(m.owner)
	clear(m.before)
	met := make([]int32, n)
	for _, step := range m.g.firsts {
		u := m.unit[step]
		if u < 0 || slices.Contains(left, step) {
			continue
		}
		for v, k := range met {
			m.before[v*n+int(u)] += k
		}
		met[u]++
	}
}

// try places every unit where the route has it; what may stand in several
// places is put where the whole walk fits best, given where the others are. It
// sets out twice, with everything in place and with everything first that may
// be: who takes several things first fits only when all of them stand there.
func (m *walkMap) try(route int) fit {
	m.layOut(&m.g.k.Routes[route])
	f := m.settleAll(route)
	if f.against == 0 {
		return f
	}
	m.other = append(m.other[:0], m.places...)
	for u, opts := range m.opts {
		if len(opts) > 0 {
			m.places[u] = slices.Min(opts)
		}
	}
	if g := m.settleAll(route); g.better(&f) {
		return g
	}
	copy(m.places, m.other)
	return f
}

// settleAll moves the units, from where they are, to where the walk fits best.
func (m *walkMap) settleAll(route int) fit {
	f := fit{route: route}
	n := len(m.places)
	for u := range n {
		for v := range n {
			if m.places[u] >= 0 && m.places[u] < m.places[v] {
				f.with += int(m.before[u*n+v])
				f.against += int(m.before[v*n+u])
			}
		}
	}
	for range 2 {
		for u := range m.opts {
			if len(m.opts[u]) > 1 {
				m.settle(u, &f)
			}
		}
	}
	return f
}

// settle moves a unit to the best of its places and keeps the fit of the whole up.
func (m *walkMap) settle(u int, f *fit) {
	with, against := m.pairsOf(u, m.places[u])
	rest := fit{route: f.route, with: f.with - with, against: f.against - against}
	for _, p := range m.opts[u] {
		with, against = m.pairsOf(u, p)
		now := fit{route: f.route, with: rest.with + with, against: rest.against + against}
		if now.better(f) {
			*f, m.places[u] = now, p
		}
	}
}

// pairsOf counts a unit's own pairs with and against the route, if it stood there.
func (m *walkMap) pairsOf(u int, at int32) (with, against int) {
	n := len(m.places)
	for v := range n {
		uv, vu := int(m.before[u*n+v]), int(m.before[v*n+u])
		switch q := m.places[v]; {
		case q < 0 || at == q || v == u:
		case at < q:
			with, against = with+uv, against+vu
		default:
			with, against = with+vu, against+uv
		}
	}
	return with, against
}
