package cases

import (
	"strings"

	"dewclaw/rubric"
)

// room is what a thermometer shows before it is warmed, in thousandths of a
// degree Celsius; nearing is how many times the difference halves over the time
// that it takes. Derived: a probe nears what it touches by halves, and eight
// halvings leave less than a tenth of a degree of 17.
const (
	room    = 22_000
	nearing = 8
)

// rises notes that an instrument has been placed and nears a value.
func (p *Patient) rises(t *turn, step *Step, value string) {
	m, err := rubric.ParseMilli(value)
	if err != nil {
		return
	}
	t.s.open.rises = int(m)
	for i := range p.cat.Steps {
		if p.cat.Steps[i].ID == step.ID {
			t.s.open.step = i + 1
		}
	}
}

// taken is what a slow instrument shows when it is taken away after so many
// seconds: too low, where it had not settled. Without one it is empty.
func (p *Patient) taken(o contact, seconds int) string {
	if o.rises == 0 || o.step == 0 {
		return ""
	}
	step := &p.cat.Steps[o.step-1]
	shown := o.rises
	if seconds < step.Takes {
		shown -= leftAfter(o.rises-room, seconds, step.Takes)
	}
	for _, id := range step.Reveals {
		if f := p.cat.Field(id); f != nil {
			return strings.TrimSpace(roundTo(rubric.Milli(shown), 100).String() + " " + f.Unit)
		}
	}
	return ""
}

// leftAfter is what is left of a difference, by halves and evenly between them.
func leftAfter(difference, seconds, takes int) int {
	halvings, part := seconds*nearing/takes, seconds*nearing%takes
	left := difference >> halvings
	return left - left*part/(2*takes)
}
