package rubric

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Amendment changes a key after the exam, for everybody who had the case: lines
// that are struck drop out and the others of their domain share their weight;
// another urgency counts as right; further problems are neither for nor against.
type Amendment struct {
	Strike  []string `json:"strike,omitempty"`  // ids of lines
	Urgency string   `json:"urgency,omitempty"` // routine, same day or emergency; empty: as it is
	Accept  []string `json:"accept,omitempty"`  // problems
}

// ErrStrike is returned for a line that a key cannot do without: one that this
// key does not make, that sums others up, or that is a deduction for a deed. A
// deduction is taken back by a person's mark, visit by visit.
var ErrStrike = errors.New("rubric: no line that can be struck")

// strikes say what a struck line takes out of the key, by how its name begins
// after the domain.
var strikes = []struct {
	domain, begins string
	strike         func(k *Key, name string) bool
}{
	{DomainOrder, "rule/", func(k *Key, id string) bool { return drop(&k.Rules, func(r Rule) bool { return r.ID == id }) }},
	{DomainCompleteness, "ask:", func(k *Key, id string) bool { return drop(&k.Topics, func(t string) bool { return t == id }) }},
	{DomainCompleteness, "", unrequire},
	{DomainFindings, "negative/", func(k *Key, id string) bool { return drop(&k.Negatives, named(id)) }},
	{DomainFindings, "", func(k *Key, id string) bool {
		return drop(&k.Findings, func(f Finding) bool { return placeName(f.Field, f.Site) == id })
	}},
	{DomainVitals, "", func(k *Key, id string) bool {
		field, _, _ := strings.Cut(id, "/")
		return drop(&k.Vitals, func(v Vital) bool { return v.Field == field })
	}},
	{DomainHandling, "precaution/", func(k *Key, id string) bool {
		return drop(&k.Precautions, func(p Precaution) bool { return p.ID == id })
	}},
	{DomainConclusions, "report/", func(k *Key, id string) bool { return drop(&k.Expected.Report, named(id)) }},
}

// named matches a place by its name. A negative without a site stands for all of
// its field's.
func named(id string) func(Place) bool {
	return func(p Place) bool { return placeName(p.Field, p.Site) == id }
}

// unrequire makes a step one that may be done.
func unrequire(k *Key, id string) bool {
	i := slices.IndexFunc(k.Steps, func(s Step) bool { return s.ID == id && s.Required })
	if i < 0 {
		return false
	}
	k.Steps = slices.Clone(k.Steps)
	k.Steps[i].Required, k.Steps[i].Critical, k.Steps[i].Weight = false, false, 0
	return true
}

// drop takes rows out of a copy of a list and says whether there was one.
func drop[T any](list *[]T, is func(T) bool) bool {
	n := len(*list)
	*list = slices.DeleteFunc(slices.Clone(*list), is)
	return len(*list) < n
}

// Amend returns the key as amended; the key itself stays as it is. Lines are
// named by their ids, such as findings/heart.murmur@left apex.
func (k Key) Amend(a Amendment) (Key, error) {
	for _, line := range a.Strike {
		if !k.strike(line) {
			return Key{}, fmt.Errorf("%w: %s", ErrStrike, line)
		}
	}
	if a.Urgency != "" {
		k.Expected.Urgency = a.Urgency
	}
	k.Expected.Accept = slices.Concat(k.Expected.Accept, a.Accept)
	return k, nil
}

func (k *Key) strike(line string) bool {
	domain, name, _ := strings.Cut(line, "/")
	for _, row := range strikes {
		if id, ok := strings.CutPrefix(name, row.begins); ok && row.domain == domain {
			return row.strike(k, id)
		}
	}
	return false
}
