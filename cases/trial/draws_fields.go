package trial

import (
	"cmp"
	"slices"

	"dewclaw/cases"
	"dewclaw/rubric"
)

const (
	mostGroups = 8  // of neighbouring numbers
	leastShare = 50 // thousandths; among a hundred fields chance alone reaches half of it with 500 seeds
	mostFields = 3
)

// FieldShare is how much of D a drawn field explains.
type FieldShare struct {
	Place  string      `json:"place"` // field or field@site of the case, or cases.Mirrored
	Share  int         `json:"share"` // of the variance of D, thousandths
	Values []ValueMean `json:"values"`
}

// ValueMean is the mean D of the patients of one value, or of neighbouring numbers.
type ValueMean struct {
	From     string        `json:"from"`
	To       string        `json:"to"` // the same where it is one value
	Patients int           `json:"patients"`
	Off      rubric.Points `json:"off"` // from the mean of all; below 0 is harder
}

// Words is the value or the range of values.
func (v ValueMean) Words() string {
	if v.From == v.To {
		return v.From
	}
	return v.From + ".." + v.To
}

// fieldShares are the fields that explain most of D, the greatest share first.
func fieldShares(drawn [][]cases.Drawn, s *spread) []FieldShare {
	out := []FieldShare{}
	for at := range drawn[0] {
		values := make([]string, len(drawn))
		for i := range drawn {
			values[i] = drawn[i][at].Value
		}
		groups := grouped(values)
		if share := explained(groups, s); share >= leastShare {
			out = append(out, FieldShare{Place: drawn[0][at].Place, Share: share, Values: means(groups, values, s)})
		}
	}
	slices.SortStableFunc(out, func(a, b FieldShare) int { return cmp.Compare(b.Share, a.Share) })
	return out[:min(len(out), mostFields)]
}

// grouped puts patients of the same value together, as their places in values;
// of many numbers, neighbours into groups of about the same size.
func grouped(values []string) [][]int {
	order := make([]int, len(values))
	numbers := make([]rubric.Milli, len(values))
	numeric := true
	for i, v := range values {
		m, err := rubric.ParseMilli(v)
		numeric = numeric && err == nil
		order[i], numbers[i] = i, m
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if numeric {
			return cmp.Compare(numbers[a], numbers[b])
		}
		return cmp.Compare(values[a], values[b])
	})
	var groups [][]int
	for n, i := range order {
		if n == 0 || values[order[n-1]] != values[i] {
			groups = append(groups, nil)
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], i)
	}
	if numeric && len(groups) > mostGroups {
		return joined(groups, len(values))
	}
	return groups
}

// joined makes few groups of many, in their order.
func joined(groups [][]int, all int) [][]int {
	out, last, had := [][]int(nil), -1, 0
	for _, g := range groups {
		if part := (had + len(g)/2) * mostGroups / all; part != last {
			out, last = append(out, nil), part
		}
		out[len(out)-1] = append(out[len(out)-1], g...)
		had += len(g)
	}
	return out
}

// explained is the share of the variance of D that lies between groups, in
// thousandths: epsilon squared, which chance leaves at 0 whatever the number of
// groups (Kelley 1935, from memory), with the noise taken out. Patients of one
// value share some of the noise, for a student that errs in a field errs alike
// with all of them; so what lies between groups is taken from the products of
// different streams, which share none.
func explained(groups [][]int, s *spread) int {
	patients, whole := int64(len(s.off)), s.real()
	free := patients - int64(len(groups))
	if len(groups) < 2 || free < 1 || whole == 0 {
		return 0
	}
	between := int64(0)
	for _, g := range groups {
		between += int64(len(g)) * s.agreed(g)
	}
	within := max(0, (whole*(patients-1)-between)/free)
	return int(max(0, 1000-nearest(1000*within, whole)))
}

// agreed is the square of how far a group of patients is off, as different
// streams agree on it; by chance it may be below 0.
func (s *spread) agreed(group []int) int64 {
	visits := int64(len(s.alone[0]))
	var all, squares int64
	for j := range visits {
		sum := int64(0)
		for _, i := range group {
			sum += s.alone[i][j]
		}
		mean := nearest(sum, int64(len(group)))
		all += mean
		squares += mean * mean
	}
	return (all*all - squares) / (visits * (visits - 1))
}

// means is the mean D of every group.
func means(groups [][]int, values []string, s *spread) []ValueMean {
	var out []ValueMean
	for _, g := range groups {
		sum := int64(0)
		for _, i := range g {
			sum += s.off[i]
		}
		out = append(out, ValueMean{
			From: values[g[0]], To: values[g[len(g)-1]], Patients: len(g),
			Off: rubric.Points(nearest(sum, int64(len(g)))),
		})
	}
	return out
}
