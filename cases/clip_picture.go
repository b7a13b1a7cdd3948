package cases

import (
	"slices"

	"dewclaw/cases/media"
	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// look is a row: a picture that an examine act brings. It suits a step that
// reveals the first of the fields; those it shows are sensed by looking.
type look struct {
	name  string
	shows []string
	moves bool // something is counted or timed in it, so that it is worth a minute's looking
	draw  func(*view) senses.Picture
}

// looks are the pictures; the first row that suits a step is its picture.
var looks = slices.Concat(movingLooks, stillLooks)

// lookOf is the row of a step; nil: there is nothing to look at.
func lookOf(step *Step) *look {
	i := slices.IndexFunc(looks, func(l look) bool { return slices.Contains(step.Reveals, l.shows[0]) })
	if i < 0 {
		return nil
	}
	return &looks[i]
}

// Seen says whether an act at this step, when it was not refused, has a picture.
func (c *Catalogue) Seen(step string) bool {
	s := c.Step(step)
	return s != nil && lookOf(s) != nil
}

// clipSense says whether a field is heard or watched at a step rather than
// described: "sound", "picture" or "".
func clipSense(step *Step, f *Field) string {
	if f.Kind == "count" && f.Vital != "resp_rate" || heardAtStep(step.ID, f.ID) {
		return "sound"
	}
	if row := lookOf(step); row != nil && slices.Contains(row.shows, f.ID) {
		return "picture"
	}
	return ""
}

// Picture returns what is seen at an examine act. A picture that moves begins at
// the given phase of its movement; a refill always with the pressing.
func (p *Patient) Picture(e rubric.Entry, phase uint64) (senses.Picture, error) {
	if own := p.ownAt(e, media.Picture); own != nil {
		return senses.Picture{Type: own.made.Type, Bytes: own.made.From(phase)}, nil
	}
	v, row, err := p.viewAt(e, phase)
	if err != nil {
		return senses.Picture{}, err
	}
	return row.draw(v), nil
}

// viewAt opens the patient as it was at an examine act that has a picture.
func (p *Patient) viewAt(e rubric.Entry, phase uint64) (*view, *look, error) {
	step := p.cat.Step(e.Act.Step)
	if e.Act.Kind != rubric.Examine || step == nil || e.Outcome.Refused || len(e.Outcome.State) == 0 {
		return nil, nil, ErrNothingThere
	}
	row := lookOf(step)
	if row == nil {
		return nil, nil, ErrNothingThere
	}
	s, err := p.opens(e.Outcome.State)
	return &view{p: p, state: s, step: step, site: e.Act.Site, phase: phase}, row, err
}

// view is what a picture is drawn from: the patient at the moment of an act.
type view struct {
	p     *Patient
	state state
	step  *Step
	site  string
	phase uint64
}

// species is the catalogue's id, such as dog.
func (v *view) species() string { return v.p.cat.Species }

// dry says that this animal has no udder to be seen.
func (v *view) dry() bool { return v.p.kase.Signalment.Dry() }

// at is the choice of a field at a site, else the one it has as a whole; ""
// where this species has no such field.
func (v *view) at(field, site string) string {
	if place, ok := v.p.somewhere(field, site); ok {
		return v.p.truth.at(place)
	}
	return ""
}

// choice is the choice of a field at the site that is looked at.
func (v *view) choice(field string) string { return v.at(field, v.site) }

// milli is a number of the patient at the moment of the act, in thousandths of
// its unit; 0 where this species has no such field.
func (v *view) milli(field string) int {
	f := v.p.cat.Field(field)
	at, ok := v.p.somewhere(field, v.site)
	if f == nil || !ok {
		return 0
	}
	m, err := rubric.ParseMilli(v.p.now(&v.state, f, at, v.site))
	if err != nil {
		return 0
	}
	return int(m)
}
