package cases

import (
	"slices"

	"dewclaw/rubric"
)

// Drawn is a value of a patient that its seed chose, or could have chosen.
type Drawn struct {
	Place string // field, or field@site as the case writes it; Mirrored for the sides
	Value string
}

// Mirrored is the Place of a Drawn that says whether left and right are swapped.
const Mirrored = "mirror"

// Drawn lists what the seed decides about this patient: every value that the
// case spreads, every field that it leaves to the normal of the species, and
// which side is which. Sites are those of the case, before left and right are
// swapped, so that the places are the same for all patients of a case. It tells
// the truth, so that it is for whoever writes cases and for nobody else.
func (p *Patient) Drawn() []Drawn {
	var out []Drawn
	stated := map[string]bool{}
	for _, t := range p.kase.Truth {
		stated[t.Field] = true
		if len(t.Values) == 1 {
			continue
		}
		if f := p.cat.Field(t.Field); f != nil {
			out = append(out, Drawn{placeName(t.Field, t.Site), p.truth.at(p.standsAt(f, t.Site))})
		}
	}
	for i := range p.cat.Fields {
		if f := &p.cat.Fields[i]; !stated[f.ID] {
			out = append(out, Drawn{f.ID, p.truth.at(p.standsAt(f, ""))})
		}
	}
	if p.kase.Mirror {
		sides := "as written"
		if p.flip {
			sides = "swapped"
		}
		out = append(out, Drawn{Mirrored, sides})
	}
	return out
}

// standsAt is where a value stands that the case states for a site, or for all
// sites of a field that have none of their own.
func (p *Patient) standsAt(f *Field, site string) rubric.Place {
	if site != "" {
		return rubric.Place{Field: f.ID, Site: p.side(site)}
	}
	for _, s := range sitesOf(f) {
		own := func(t Truth) bool { return t.Field == f.ID && t.Site == s && s != "" }
		if !slices.ContainsFunc(p.kase.Truth, own) {
			return rubric.Place{Field: f.ID, Site: p.side(s)}
		}
	}
	return rubric.Place{Field: f.ID, Site: p.side(sitesOf(f)[0])}
}
