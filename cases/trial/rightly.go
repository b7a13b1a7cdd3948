package trial

import (
	"fmt"
	"slices"

	"dewclaw/cases/robot"
	"dewclaw/rubric"
)

// rightly sends who does all rightly: by its own way, by one drawn, and with
// the first seed by every accepted way.
func (s *caseSweep) rightly(x *subject) error {
	acts := robot.Ideal(x.p, x.k)
	if err := s.whole(x, "ideal", acts); err != nil {
		return err
	}
	s.stops(x, acts)
	ways := s.ways(x)
	for _, w := range ways {
		s.orders++
		if err := s.whole(x, "ideal by "+w.String(), robot.IdealAlong(x.p, x.k, w)); err != nil {
			return err
		}
	}
	return nil
}

// ways are the orders to try with this patient.
func (s *caseSweep) ways(x *subject) []robot.Way {
	var out []robot.Way
	if x.seed == 0 {
		out = robot.Ways(x.k)
		for _, route := range x.k.Routes {
			if !slices.ContainsFunc(out, func(w robot.Way) bool { return w.Route == route.ID }) {
				s.miss(x.seed, x.r.ID, "order/route "+route.ID, "no way along it that keeps the rules of order", "one at least")
			}
		}
	}
	if w, ok := robot.DrawWay(x.k, x.seed); ok {
		out = append(out, w)
	}
	return out
}

// whole holds that a visit earns every point: each line that has not all of its
// marks is named, and so is what stands in the way of a pass.
func (s *caseSweep) whole(x *subject, who string, acts []rubric.Act) error {
	rep, err := x.mark(acts)
	if err != nil {
		return err
	}
	by := x.r.ID + ", " + who
	for _, d := range rep.Domains {
		for _, line := range d.Lines {
			if line.Points < line.Max || line.Points < 0 {
				s.miss(x.seed, by, lineName(d.ID, line.ID), fmt.Sprintf("%s (%s)", line.Points, line.Code), line.Max.String())
			}
		}
	}
	for _, e := range rep.Critical {
		s.miss(x.seed, by, "critical event", e.ID, "none")
	}
	for _, code := range rep.Held {
		s.miss(x.seed, by, "held for a person", code, "nothing held")
	}
	if !rep.Pass {
		s.miss(x.seed, by, "pass", "no, with "+rep.Total.String(), "yes")
	}
	return nil
}

// lineName is a line's id with its domain, once.
func lineName(domain, id string) string {
	if len(id) > len(domain) && id[:len(domain)+1] == domain+"/" {
		return id
	}
	return domain + "/" + id
}

// stops holds that who does all rightly does nothing that is withheld, and in
// triage examines nothing after it has stopped.
func (s *caseSweep) stops(x *subject, acts []rubric.Act) {
	stopped := ""
	for _, a := range acts {
		switch {
		case a.Kind == rubric.Examine && x.p.Withheld(a.Step):
			s.miss(x.seed, x.r.ID+", ideal", "withheld step", a.Step, "not done")
		case a.Kind == rubric.Examine && stopped != "":
			s.miss(x.seed, x.r.ID+", ideal", "after "+stopped, a.Step, "nothing examined")
		case a.Kind == rubric.Handle && a.How == "stop":
			stopped = a.How
		}
	}
	if x.k.Situation == "triage" && stopped == "" {
		s.miss(x.seed, x.r.ID+", ideal", "stop", "never", "handle:stop before the end")
	}
}
