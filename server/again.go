package server

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// mostAgain missed findings are examined once more.
const mostAgain = 3

// missedHow are the fates of a finding that is examined once more.
var missedHow = []string{"normal", "blank", "unseen"}

// missed is a finding that is examined once more: the step that shows it, as it is
// sensed at the end of the visit. What else was missed at that very spot goes with it.
type missed struct {
	finding rubric.FindingRead
	others  []rubric.FindingRead
	place   string
	step    *cases.Step
	entry   rubric.Entry
	look    *store.Look // nil: it waits
}

// secondLook is a visit with what is examined once more in it.
type secondLook struct {
	row    store.Attempt
	live   *live
	key    rubric.Key
	scheme rubric.Rubric
	missed []missed
}

// ownPractice is one's own marked practice visit; anything else is absent.
func (s *Server) ownPractice(ctx context.Context, who face.Person, id string) (store.Attempt, error) {
	row, err := s.mayRead(ctx, who, id)
	if err == nil && (row.Person != who.ID || row.Purpose != "" || row.State != store.StateGraded) {
		err = ErrMissing
	}
	return row, err
}

// secondLook finds what was missed in a marked visit and can be examined again.
func (s *Server) secondLook(ctx context.Context, row store.Attempt) (secondLook, error) {
	out := secondLook{row: row}
	m, err := s.marked(ctx, row)
	if err != nil {
		return out, err
	}
	out.scheme = m.scheme
	if out.key, err = rubric.DecodeKey(row.Key); err != nil {
		return out, fmt.Errorf("look again: %w", err)
	}
	if out.live, err = s.liveOf(ctx, row); err != nil {
		return out, err
	}
	looks, err := s.store.Looks(ctx, row.Transcript)
	if err != nil {
		return out, fmt.Errorf("look again: %w", err)
	}
	state, err := s.lastLiving(ctx, out.live)
	if err != nil {
		return out, err
	}
	for _, f := range heaviest(m.report, out.key) {
		x, ok := out.live.sensedAgain(f, m.report.Findings, state)
		if !ok {
			continue
		}
		if i := slices.IndexFunc(out.missed, x.sameSpot); i >= 0 {
			out.missed[i].others = append(out.missed[i].others, f)
			continue
		}
		if len(out.missed) == mostAgain || slices.ContainsFunc(out.missed, x.sameLine) {
			continue
		}
		for i := range looks {
			if own := looks[i].Place == x.place; own || looks[i].Place == store.PassedOver && x.look == nil {
				x.look = &looks[i]
			}
		}
		out.missed = append(out.missed, x)
	}
	return out, nil
}

func (x missed) sameSpot(y missed) bool {
	return x.step.ID == y.step.ID && x.entry.Act.Site == y.entry.Act.Site
}

// sameLine says that the same is looked for at another site: once is enough.
func (x missed) sameLine(y missed) bool { return x.finding.Field == y.finding.Field }

// lastLiving is the patient's state at the end of a visit, before it died of it.
func (s *Server) lastLiving(ctx context.Context, l *live) ([]byte, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := s.catchUp(ctx, l); err != nil {
		return nil, err
	}
	for i := len(l.entries) - 1; i >= 0; i-- {
		if o := l.entries[i].Outcome; o.Ended == "" || o.Ended == "concluded" {
			return o.State, nil
		}
	}
	return nil, nil
}

// heaviest are the findings that were missed, major ones first, then by what they
// could have earned.
func heaviest(rep rubric.Report, key rubric.Key) (out []rubric.FindingRead) {
	weight := map[string]int{}
	for _, d := range rep.Domains {
		for _, l := range d.Lines {
			if d.ID == rubric.DomainFindings {
				weight[strings.TrimPrefix(l.ID, rubric.DomainFindings+"/")] = int(l.Max)
			}
		}
	}
	const major = 1 << 30 // above what any line earns
	for _, f := range key.Findings {
		if f.Major {
			weight[placeText(f.Field, f.Site)] += major
		}
	}
	for _, f := range rep.Findings {
		if slices.Contains(missedHow, f.How) {
			out = append(out, f)
		}
	}
	slices.SortStableFunc(out, func(a, b rubric.FindingRead) int {
		return cmp.Compare(weight[placeText(b.Field, b.Site)], weight[placeText(a.Field, a.Site)])
	})
	return out
}

// placeText is a place as reports name it.
func placeText(field, site string) string {
	if site == "" {
		return field
	}
	return field + "@" + site
}

// sensedAgain is a finding by the first step that shows it and need not wait with
// this patient. Figures are not looked for again: they are read, counted or timed.
func (l *live) sensedAgain(f rubric.FindingRead, all []rubric.FindingRead, state []byte) (missed, bool) {
	field := l.cat.Field(f.Field)
	if field == nil || !field.Chosen() || field.Vital != "" {
		return missed{}, false
	}
	for _, id := range f.Steps {
		step := l.cat.Step(id)
		if step == nil || !l.patient.Applies(id) || l.patient.Withheld(id) {
			continue
		}
		e, err := l.patient.LookAgain(state, id, siteAgain(step, f, all))
		shown := func(x rubric.Shown) bool { return x.Field == f.Field && x.Site == f.Site }
		if err == nil && slices.ContainsFunc(e.Outcome.Shown, shown) {
			return missed{finding: f, place: placeText(f.Field, f.Site), step: step, entry: e}, true
		}
	}
	return missed{}, false
}

// siteAgain is where a step is done: at the finding's site; for one that is the same
// all over, where else the step shows something, as the time of a murmur is heard
// where the murmur is; else at its first site.
func siteAgain(step *cases.Step, f rubric.FindingRead, all []rubric.FindingRead) string {
	switch {
	case len(step.Sites) == 0:
		return ""
	case slices.Contains(step.Sites, f.Site):
		return f.Site
	}
	for _, other := range all {
		if slices.Contains(step.Reveals, other.Field) && slices.Contains(step.Sites, other.Site) {
			return other.Site
		}
	}
	return step.Sites[0]
}

// site is where the student is told to look.
func (x missed) site() string { return cmp.Or(x.finding.Site, x.entry.Act.Site) }

// all are the findings of the spot, the heaviest in front.
func (x missed) all() []rubric.FindingRead {
	return append([]rubric.FindingRead{x.finding}, x.others...)
}

// claims are what can be committed: the values of every line that the step shows
// at the finding's site, for to name one line would tell half of it.
func (x missed) claims(cat *cases.Catalogue) []face.Claim {
	out := []face.Claim{}
	for _, shown := range x.entry.Outcome.Shown {
		f := cat.Field(shown.Field)
		if f == nil || !f.Chosen() || f.Vital != "" || shown.Site != "" && shown.Site != x.site() {
			continue
		}
		for _, ch := range f.Of {
			out = append(out, face.Claim{ID: placeText(f.ID, shown.Site) + "=" + ch.ID, Line: joinSet([]string{f.Label, shown.Site}, ", "), Label: cmp.Or(ch.Label, ch.ID)})
		}
	}
	return out
}

// faceMissed is a missed finding as its student sees it.
func (l *live) faceMissed(n int, x missed) face.Missed {
	out := face.Missed{N: n, Region: x.step.Region, Site: x.site(), Step: x.step.Label, How: x.finding.How, State: "open", Choices: x.claims(l.cat)}
	if r := l.cat.Region(x.step.Region); r != nil {
		out.Region = r.Label
	}
	act := l.act(x.entry, l.row.Started, l.row.Alternatives.Described || x.look != nil)
	out.Heard, out.Seen = act.Heard, act.Seen
	for _, p := range act.Percepts {
		switch {
		case p.Words == "" || p.Site != "" && p.Site != x.site() || l.isVital(p.Field):
		case p.Picture:
			out.InWords = append(out.InWords, sentence(p.Words))
		default:
			out.Words = append(out.Words, sentence(p.Words))
		}
	}
	if x.look == nil {
		return out
	}
	out.State = "passed"
	if place, value, ok := strings.Cut(x.look.Value, "="); ok {
		field, site, _ := strings.Cut(place, "@")
		out.State, out.Said, out.Found = "committed", l.claimText(field, site, value), foundWord(x.look.Mark)
	}
	var actual []string
	for _, f := range x.all() {
		actual = append(actual, l.claimText(f.Field, f.Site, f.Truth))
	}
	out.Actual = strings.Join(actual, "; ")
	return out
}

// foundWord says how much of a finding was found.
func foundWord(mark int) string {
	switch {
	case mark >= 1000:
		return "whole"
	case mark > 0:
		return "part"
	}
	return "none"
}

func (l *live) isVital(field string) bool {
	f := l.cat.Field(field)
	return f != nil && f.Vital != ""
}

// claimText is a value of a line in words.
func (l *live) claimText(field, site, value string) string {
	label := field
	if f := l.cat.Field(field); f != nil {
		label = f.Label
		if ch := f.Choice(value); ch != nil {
			value = cmp.Or(ch.Label, ch.ID)
		}
	}
	return joinSet([]string{label, site}, ", ") + ": " + value
}

func (y secondLook) face() face.Again {
	out := face.Again{Findings: []face.Missed{}, Done: true}
	for i, x := range y.missed {
		out.Findings = append(out.Findings, y.live.faceMissed(i+1, x))
		out.Done = out.Done && x.look != nil
	}
	return out
}

// lookInto is what is examined once more in one's own practice visit.
func (s *Server) lookInto(ctx context.Context, who face.Person, id string) (secondLook, error) {
	row, err := s.ownPractice(ctx, who, id)
	if err != nil {
		return secondLook{}, err
	}
	return s.secondLook(ctx, row)
}

// commitAgain keeps what somebody says of the n-th missed finding. The first word
// stays.
func (s *Server) commitAgain(ctx context.Context, who face.Person, id string, n int, claim string) (face.Missed, error) {
	y, err := s.lookInto(ctx, who, id)
	if err != nil {
		return face.Missed{}, err
	}
	if n < 1 || n > len(y.missed) {
		return face.Missed{}, ErrMissing
	}
	x := &y.missed[n-1]
	if x.look == nil {
		if !slices.ContainsFunc(x.claims(y.live.cat), func(c face.Claim) bool { return c.ID == claim }) {
			return face.Missed{}, invalid("/claim", "choose what you find from the list")
		}
		x.look = &store.Look{Transcript: y.row.Transcript, Place: x.place, Value: claim, Mark: y.mark(*x, claim)}
		err = s.store.SaveLook(ctx, *x.look)
	} else {
		err = store.ErrDuplicate
	}
	if errors.Is(err, store.ErrDuplicate) {
		return face.Missed{}, &Fault{Kind: ErrNotNow, Text: "You have answered this one before; the first answer stays."}
	}
	if err != nil {
		return face.Missed{}, fmt.Errorf("look again: %w", err)
	}
	return y.live.faceMissed(n, *x), nil
}

// mark is what a claim would have earned of the line that it is about, in
// thousandths, by the engine that marked the visit, for an examination of this one
// spot. What was not missed there earns nothing.
func (y secondLook) mark(x missed, claim string) int {
	place, value, _ := strings.Cut(claim, "=")
	field, site, _ := strings.Cut(place, "@")
	entry := x.entry
	entry.Act.N = 1
	record := rubric.Entry{Act: rubric.Act{N: 2, Kind: rubric.Record, Field: field, Site: site, Value: value}, Outcome: rubric.Outcome{Clock: entry.Outcome.Clock, State: entry.Outcome.State}}
	best := 0
	for _, d := range rubric.Grade(y.scheme, y.key, rubric.Transcript{entry, record}).Domains {
		for _, l := range d.Lines {
			about := func(f rubric.FindingRead) bool { return l.ID == rubric.DomainFindings+"/"+placeText(f.Field, f.Site) }
			if l.Max > 0 && slices.ContainsFunc(x.all(), about) {
				best = max(best, int(max(l.Points, 0)*1000/l.Max))
			}
		}
	}
	return best
}

// passAgain goes on without looking at what is left.
func (s *Server) passAgain(ctx context.Context, who face.Person, id string) error {
	row, err := s.ownPractice(ctx, who, id)
	if err != nil {
		return err
	}
	return s.passLooks(ctx, row)
}

func (s *Server) passLooks(ctx context.Context, row store.Attempt) error {
	return s.store.PassLooks(ctx, row.Transcript)
}

// somethingMissed and lookedAgain are the station on the way to a debrief.
func (s *Server) somethingMissed(ctx context.Context, row store.Attempt) (bool, error) {
	y, err := s.secondLook(ctx, row)
	return len(y.missed) > 0, err
}

func (s *Server) lookedAgain(ctx context.Context, row store.Attempt) (bool, error) {
	looks, err := s.store.Looks(ctx, row.Transcript)
	if err != nil || slices.ContainsFunc(looks, func(l store.Look) bool { return l.Place == store.PassedOver }) {
		return err == nil, err
	}
	if row.State != store.StateGraded {
		return false, nil // nothing is known of what was missed
	}
	y, err := s.secondLook(ctx, row)
	return err == nil && y.face().Done, err
}

// againMedium is what is heard or seen at the n-th missed finding.
func (s *Server) againMedium(ctx context.Context, who face.Person, id string, n int, what medium) (clip, error) {
	y, err := s.lookInto(ctx, who, id)
	if err != nil {
		return clip{}, err
	}
	if n < 1 || n > len(y.missed) {
		return clip{}, ErrMissing
	}
	x := y.missed[n-1]
	m, err := s.media.get(ctx, clipKey{y.row.ID, 0, what.name + " again " + x.place}, func() (clip, error) {
		return what.make(y.live.patient, x.entry, s.phase(y.row.ID+" again "+x.place, 0))
	})
	if errors.Is(err, cases.ErrNothingThere) {
		return clip{}, &Fault{Kind: ErrMissing, Cause: err}
	}
	if err != nil {
		return clip{}, fmt.Errorf("look again: %w", err)
	}
	return m, nil
}
