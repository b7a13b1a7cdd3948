package cases

import (
	"fmt"
	"slices"
	"strings"
)

// handle plays a handling action or takes a hold.
func (p *Patient) handle(t *turn) error {
	i := slices.IndexFunc(p.cat.Handling, func(h Handling) bool { return h.ID == t.act.How })
	if i < 0 {
		var ids []string
		for _, h := range p.cat.Handling {
			ids = append(ids, h.ID)
		}
		return &ActError{"how", fmt.Sprintf("%q is no handling of the catalogue", cut(t.act.How)), strings.Join(ids, ", ")}
	}
	h := &p.cat.Handling[i]
	if h.Hold {
		t.s.hold = i + 1
	} else if i < 64 {
		t.s.handled |= 1 << i
	}
	p.takes(t, h)
	if t.s.ended != goesOn {
		return nil
	}
	p.strains(t.s, h.Stress)
	p.seized(t, h)
	if h.Stress > 0 {
		p.tells(t, &Step{Touch: true})
	}
	return nil
}

// takes lets the time of a handling pass. What calms is peace; what strains
// wears a fragile animal more than a touch does. To stop is to let go.
func (p *Patient) takes(t *turn, h *Handling) {
	if h.Effect == "stop" {
		t.s.hold = 0
	}
	if h.Stress <= 0 || h.Effect != "" {
		p.handsOff(t, h.Seconds)
		return
	}
	p.pass(t.s, h.Seconds)
	p.wears(t, h.Seconds, underForce)
}
