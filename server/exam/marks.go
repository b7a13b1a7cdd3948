package exam

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"dewclaw/rubric"
)

// Override is a person's mark in place of a computed one. The last one of a line
// counts; the computed mark stays in the report.
type Override struct {
	Line   string // a line's id
	Points rubric.Points
	By     string
	At     time.Time
	Reason string
}

// Decision is a person's word on what a report is held for. What is the id of a
// critical event, or a code of rubric.Report.Held that is not about one. The
// last decision counts.
type Decision struct {
	What   string
	Stands bool // the event happened as told; the flag is right
	By     string
	At     time.Time
	Reason string
}

// Marked is a report with what people decided.
type Marked struct {
	Computed rubric.Points // the engine's total
	Total    rubric.Points
	Pass     bool     // false while a critical event waits
	Critical bool     // an event stands or may still stand, which alone decides
	Short    []string // domains that stay below the share that a pass needs
	Domains  []Domain
	Changed  []Changed  // one a line that a person marked, in the report's order
	Void     []Override // marks of lines that the report no longer has, for their line was struck
	Waits    []string   // what a person must decide before release
}

// Domain is one domain's points after overrides.
type Domain struct {
	ID          string
	Points, Max rubric.Points
}

// Changed is a line with both of its marks.
type Changed struct {
	Override
	Computed rubric.Points
	Max      rubric.Points // 0: a deduction
}

// Why an override cannot be.
var (
	ErrNoLine    = errors.New("exam: the report has no such line")
	ErrNoMark    = errors.New("exam: this line earns and costs nothing of its own; mark the lines that it sums up")
	ErrMarkRange = errors.New("exam: outside what this line can earn")
	ErrNoReason  = errors.New("exam: a reason is needed")
)

// Check says whether an override can be: the line is there, has a mark of its
// own, and the points lie between nothing and all of it, or between the whole
// deduction and none.
func (o Override) Check(rep rubric.Report) error {
	l := lineOf(rep, o.Line)
	switch {
	case l == nil:
		return ErrNoLine
	case !markable(*l):
		return ErrNoMark
	case o.Points < min(l.Points, 0) || o.Points > l.Max:
		return fmt.Errorf("%w: %s to %s points", ErrMarkRange, min(l.Points, 0), l.Max)
	case o.Reason == "":
		return ErrNoReason
	}
	return nil
}

func lineOf(rep rubric.Report, id string) *rubric.Line {
	for i := range rep.Domains {
		lines := rep.Domains[i].Lines
		if k := slices.IndexFunc(lines, func(l rubric.Line) bool { return l.ID == id }); k >= 0 {
			return &lines[k]
		}
	}
	return nil
}

// Settle lays what people decided over a report. Each override was held against
// the report of its day (Check); where the key was changed since, one lies within
// what its line can earn now, and one whose line is gone is void.
func Settle(rep rubric.Report, r rubric.Rubric, overrides []Override, decisions []Decision) Marked {
	m := Marked{Computed: rep.Total}
	last := map[string]Override{}
	for _, o := range overrides {
		last[o.Line] = o
	}
	for _, d := range rep.Domains {
		points := d.Points
		for _, l := range d.Lines {
			o, ok := last[l.ID]
			if !ok || !markable(l) {
				continue
			}
			delete(last, l.ID)
			o.Points = min(max(o.Points, min(l.Points, 0)), l.Max)
			points += o.Points - l.Points
			m.Changed = append(m.Changed, Changed{o, l.Points, l.Max})
		}
		points = min(max(points, 0), d.Max)
		m.Total += points
		m.Domains = append(m.Domains, Domain{d.ID, points, d.Max})
	}
	m.void(overrides, last)
	m.Critical, m.Short = m.weigh(rep, decisions), m.short(r)
	m.Pass = !m.Critical && len(rep.Domains) > 0 && m.Total >= r.Pass && len(m.Short) == 0
	return m
}

// void lists the marks that were left over, in the order in which they were given.
func (m *Marked) void(overrides []Override, left map[string]Override) {
	for _, o := range overrides {
		if left[o.Line] == o {
			m.Void = append(m.Void, o)
		}
	}
}

// markable says whether a line has a mark of its own that a person can change.
func markable(l rubric.Line) bool { return l.Max > 0 || l.Points < 0 }

// weigh lists what waits for a person, and says whether a critical event stands
// or may still stand.
func (m *Marked) weigh(rep rubric.Report, decisions []Decision) (stands bool) {
	said := map[string]bool{}
	for _, d := range decisions {
		said[d.What] = d.Stands
	}
	for _, e := range rep.Critical {
		verdict, decided := said[e.ID]
		if !decided {
			m.Waits = append(m.Waits, e.ID)
		}
		stands = stands || verdict || !decided
	}
	for _, code := range rep.Held {
		if _, decided := said[code]; !decided && code != rubric.HeldCritical {
			m.Waits = append(m.Waits, code)
		}
	}
	return stands
}

// short are the domains that do not reach the share that a pass needs.
func (m *Marked) short(r rubric.Rubric) (ids []string) {
	for _, h := range r.Hurdles {
		for _, d := range m.Domains {
			if d.ID == h.Domain && d.Points*1000 < d.Max*rubric.Points(h.Share) {
				ids = append(ids, d.ID)
			}
		}
	}
	return ids
}

// Shown is when a student may read a debrief: that of a practice as soon as it
// is marked; that of a sitting once it is released, and never while something
// waits for a person.
func Shown(kind Kind, released bool, waits []string) bool {
	return kind != Sitting || released && len(waits) == 0
}
