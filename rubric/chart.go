package rubric

// ChartLine is one line of the examination sheet as it stands.
type ChartLine struct {
	Place
	Value          string `json:"value"`
	Over           int    `json:"over,omitempty"`
	Interpretation string `json:"interpretation,omitempty"`
	Reason         string `json:"reason,omitempty"`
	Act            int    `json:"act"`   // the act that wrote the line
	Swept          bool   `json:"swept"` // written by 'rest of this region normal'
	Sure           string `json:"sure,omitempty"`
}

// Chart is the sheet as it stands after t, in the order of fields, then of the
// field's sites. It tells nothing that the student did not write: a region
// called normal states only what had been examined and was still blank.
// A record of an unknown field is left out.
func Chart(fields []Field, t Transcript) []ChartLine {
	return replay(fields, t).lines()
}

// lines is the sheet as it stands.
func (s *sheet) lines() []ChartLine {
	n := s.standing()
	if n == 0 {
		return nil
	}
	lines := make([]ChartLine, 0, n)
	s.each(func(l ChartLine) { lines = append(lines, l) })
	return lines
}

// standing counts the lines.
func (s *sheet) standing() int {
	n := 0
	for _, at := range s.current {
		if at != 0 {
			n++
		}
	}
	return n
}

// each calls do for every line, in order.
func (s *sheet) each(do func(ChartLine)) {
	for place, at := range s.current {
		if at == 0 {
			continue
		}
		e := &s.entries[at-1]
		a := &s.t[e.act].Act
		line := ChartLine{Place: Place{s.fields[e.field].ID, s.site(e.field, int32(place))}, Value: s.value(e), Act: a.N, Swept: e.swept, Sure: e.sure}
		if !e.swept {
			line.Over, line.Interpretation, line.Reason = a.Over, a.Interpretation, a.Reason
		}
		do(line)
	}
}

// Sweep says what 'rest of this region normal' would state if it were written
// now, which blank places it would leave out because they were not examined,
// and which blank places must be described line by line: vitals, numbers and
// fields marked Each.
func Sweep(fields []Field, t Transcript, region string) (states, unexamined, each []Place) {
	return replay(fields, t).swept(region)
}

// swept is Sweep of the sheet as it stands.
func (s *sheet) swept(region string) (states, unexamined, each []Place) {
	s.inRegion(region, func(f int32) {
		s.open(f, func(place int32, examined bool) {
			p := Place{s.fields[f].ID, s.site(f, place)}
			switch {
			case !s.fields[f].sweepable():
				each = append(each, p)
			case examined:
				states = append(states, p)
			default:
				unexamined = append(unexamined, p)
			}
		})
	})
	return states, unexamined, each
}

// replay follows the sheet over a transcript without a key.
func replay(fields []Field, t Transcript) *sheet {
	s := newSheet(fields, t, nil)
	for i := range t {
		s.follow(i)
	}
	return s
}

// follow takes the i-th entry of its transcript.
func (s *sheet) follow(i int) {
	switch s.t[i].Act.Kind {
	case Examine:
		s.showAll(&s.t[i].Outcome, i)
	case Record:
		s.take(&s.t[i].Act, i)
	}
}

// showAll notes what an outcome showed; a refused examine showed nothing.
func (s *sheet) showAll(o *Outcome, pos int) {
	if o.Refused {
		return
	}
	for j := range o.Shown {
		s.show(&o.Shown[j], pos, int32(j))
	}
}

// take writes a record act, of a field or of the rest of a region. One that only
// states how sure somebody is writes no line.
func (s *sheet) take(a *Act, pos int) *entry {
	if a.States() {
		s.state(a)
		return nil
	}
	if a.Field == "" && a.Region != "" {
		if a.Value != "normal" {
			s.problem = append(s.problem, problem{a.Region, a.Value, int32(pos), codeNoRegion})
			return nil
		}
		s.sweep(a.Region, pos)
		return nil
	}
	return s.record(a, pos)
}
