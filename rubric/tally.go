package rubric

import "slices"

// full is a whole in parts per million, the engine's fixed-point unit for
// shares. Nothing in this package uses floating point.
const full = 1_000_000

// clampTo keeps n within lo and hi.
func clampTo[T ~int | ~int32 | ~int64](n, lo, hi T) T { return max(lo, min(hi, n)) }

// share is m * num / den, rounded half away from zero; 0 where den is not
// positive. num and den stay below 10^9, so the product never overflows.
func share(m Points, num, den int64) Points {
	if den <= 0 {
		return 0
	}
	return Points(divRound(int64(m)*num, den))
}

// portions splits total by weights: the parts add up to total exactly, and
// each is within one thousandth of its exact size. Sum is the weights' sum.
type portions struct {
	total    Points
	sum, run int64
	given    Points
}

func (p *portions) next(weight int64) Points {
	p.run += weight
	upTo := share(p.total, p.run, p.sum)
	part := upTo - p.given
	p.given = upTo
	return part
}

// chunk is how many small things are allocated at once.
const chunk = 192

// store holds the small slices of all lines, so that a report needs few
// allocations.
type store struct {
	args []Arg
	acts []int
}

// tally gathers the lines of one domain. Its points are always the sum of its
// lines.
type tally struct {
	*store
	id    string
	max   Points
	sum   Points
	lines []Line
}

// add puts down a line. acts and args are copied.
func (d *tally) add(name string, points, limit Points, code string, acts []int, args ...Arg) {
	d.sum += points
	d.lines = append(d.lines, Line{ID: d.id + "/" + name, Points: points, Max: limit, Code: code, Args: d.keepArgs(args), Acts: d.keepActs(acts)})
}

// note puts down a line without marks.
func (d *tally) note(name, code string, acts []int, args ...Arg) {
	d.add(name, 0, 0, code, acts, args...)
}

func (s *store) keepArgs(args []Arg) []Arg {
	if len(args) == 0 {
		return []Arg{}
	}
	if cap(s.args)-len(s.args) < len(args) {
		s.args = make([]Arg, 0, max(chunk, len(args)))
	}
	at := len(s.args)
	s.args = append(s.args, args...)
	return s.args[at:len(s.args):len(s.args)]
}

func (s *store) keepActs(acts []int) []int {
	if len(acts) == 0 {
		return []int{}
	}
	if cap(s.acts)-len(s.acts) < len(acts) {
		s.acts = make([]int, 0, max(chunk, len(acts)))
	}
	at := len(s.acts)
	s.acts = append(s.acts, acts...)
	return s.acts[at:len(s.acts):len(s.acts)]
}

// floor lifts a negative sum to zero with a line of its own.
func (d *tally) floor() {
	if d.sum < 0 {
		d.add("floor", -d.sum, 0, codeFloor, nil)
	}
}

// scale multiplies the sum by min(1, num/den), with a line of its own.
func (d *tally) scale(name, code string, num, den int64, args ...Arg) {
	if den <= 0 || num >= den {
		return
	}
	d.add(name, share(d.sum, num, den)-d.sum, 0, code, nil, args...)
}

// drop says that a term could not be judged and that the others share its weight.
func (d *tally) drop(name, why string) {
	d.note(name, codeDropped, nil, Arg{"term", name}, Arg{"why", why})
}

func (d *tally) domain() Domain {
	if d.lines == nil {
		d.lines = []Line{}
	}
	return Domain{ID: d.id, Points: d.sum, Max: d.max, Lines: d.lines}
}

// sorted returns the act numbers in order, each once.
func sorted(acts []int) []int {
	slices.Sort(acts)
	return slices.Compact(acts)
}
