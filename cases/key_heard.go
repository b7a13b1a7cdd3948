package cases

import "slices"

// KeyOption changes how a key is compiled.
type KeyOption func(*keyMaker)

// WithoutLoudness compiles a key that does not mark how loud something was that
// is only heard. Who sees sounds as a trace, or reads them in words, can tell
// that a murmur is there, where and when, and is marked for that; its grade is
// how loud it is to an ear. Every abnormal grade is then within tolerance, so
// that the part of a finding that is for its grade goes to the call.
func WithoutLoudness() KeyOption {
	return func(b *keyMaker) {
		for i := range b.key.Fields {
			f := &b.key.Fields[i]
			if b.p.cat.GradedByEar(f.ID) {
				f.Tolerance = max(f.Tolerance, len(f.Of))
			}
		}
	}
}

// GradedByEar says whether a field's grade is how loud it is to an ear: it can
// be told in no way but by listening, and is strongest somewhere. What is graded
// by how often it comes can be counted on a trace.
func (c *Catalogue) GradedByEar(field string) bool {
	f := c.Field(field)
	if f == nil || f.Kind != "grade" || !f.Strongest {
		return false
	}
	heard := false
	for i := range c.Steps {
		s := &c.Steps[i]
		if !slices.Contains(s.Reveals, field) {
			continue
		}
		if clipSense(s, f) != senseOfSound {
			return false
		}
		heard = true
	}
	return heard
}

// senseOfSound is the sense of what is heard. See rubric.Percept.
const senseOfSound = "sound"
