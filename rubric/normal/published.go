package normal

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric"
)

// Figure is a published figure: a range, one end of it, or what is said in
// place of one, such as a mean.
type Figure struct {
	Species, Class, Vital, Unit string
	Low, High                   rubric.Milli
	HasLow, HasHigh             bool
	Says                        string
	Source, Key, Confidence     string
	Days, Grams                 Span
}

//go:embed published.csv
var publishedData []byte

var figures = mustPublish(publishedData)

// Published are the figures behind the ranges of an animal, by vital in the
// order of the file. Any stands for an age or weight that is not known.
func Published(species string, ageDays, grams int) []Figure {
	var out []Figure
	for _, v := range vitals {
		for _, f := range figures {
			if f.Species == species && f.Vital == v.id && f.Days.allows(ageDays) && f.Grams.allows(grams) {
				out = append(out, f)
			}
		}
	}
	return out
}

// Species are those of the table and of the published figures, sorted.
func (t Table) Species() []string {
	var out []string
	for _, r := range t {
		out = append(out, r.Species)
	}
	for _, f := range figures {
		out = append(out, f.Species)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

var confidences = []string{"read", "relay", "memory"}

// end is a column of one end of a published range, which may be left out.
func end(name string, into func(*Figure) (*rubric.Milli, *bool)) column[Figure] {
	return column[Figure]{name, func(f *Figure, s string) string {
		m, has := into(f)
		if *has = s != ""; !*has {
			return ""
		}
		return amount(name, s, m)
	}}
}

var publishedSheet = sheet[Figure]{
	texts("species", func(f *Figure) *string { return &f.Species }),
	texts("class", func(f *Figure) *string { return &f.Class }),
	whole("age_from_days", 0, func(f *Figure) *int { return &f.Days.From }),
	whole("age_to_days", Open, func(f *Figure) *int { return &f.Days.To }),
	whole("grams_from", 0, func(f *Figure) *int { return &f.Grams.From }),
	whole("grams_to", Open, func(f *Figure) *int { return &f.Grams.To }),
	texts("vital", func(f *Figure) *string { return &f.Vital }),
	texts("unit", func(f *Figure) *string { return &f.Unit }),
	end("low", func(f *Figure) (*rubric.Milli, *bool) { return &f.Low, &f.HasLow }),
	end("high", func(f *Figure) (*rubric.Milli, *bool) { return &f.High, &f.HasHigh }),
	texts("says", func(f *Figure) *string { return &f.Says }),
	texts("source", func(f *Figure) *string { return &f.Source }),
	texts("key", func(f *Figure) *string { return &f.Key }),
	texts("confidence", func(f *Figure) *string { return &f.Confidence }),
}

func mustPublish(data []byte) []Figure {
	found, problems := publishedRows("published.csv", data)
	if len(problems) > 0 {
		panic("normal: the published figures are broken: " + problems[0].Error())
	}
	return found
}

// publishedRows reads and checks a file of published figures.
func publishedRows(file string, data []byte) ([]Figure, []Problem) {
	found, problems := publishedSheet.read(file, data)
	out, seen := make([]Figure, len(found)), map[string]int{}
	for i := range found {
		p := &found[i]
		out[i] = p.row
		problems = append(problems, figureProblems(p)...)
		id := fmt.Sprintf("%q", p.cells[:8]) + p.row.Source
		if line, twice := seen[id]; twice {
			problems = append(problems, publishedSheet.problem(p, "species", "the same figure of this source stands in line %d already", line))
		} else {
			seen[id] = p.at[0][0]
		}
	}
	return out, sorted(problems)
}

func figureProblems(p *placed[Figure]) []Problem {
	r, f := &p.row, faults[Figure]{sheet: publishedSheet, p: p}
	f.animal(r.Species, r.Class, r.Days, r.Grams)
	if u := f.measured(r.Vital, r.Unit, false); u != nil {
		if r.HasLow {
			f.inUnit("low", r.Low, u)
		}
		if r.HasHigh {
			f.inUnit("high", r.High, u)
		}
	}
	f.when(r.HasLow && r.HasHigh && r.Low > r.High, "low", "low %s is above high %s; right would be low at most high", r.Low, r.High)
	f.when(!r.HasLow && !r.HasHigh && r.Says == "", "says", "there is neither a range nor what is said in its place, such as mean 38.6")
	f.when(r.Source == "", "source", "the source is left out; say who, where and when")
	f.when(!slices.Contains(confidences, r.Confidence), "confidence", "the confidence %q should be %s", clip(r.Confidence), strings.Join(confidences, ", "))
	f.when(r.Key == "" && r.Confidence != "memory", "key", "the key of the source is left out; only a figure from memory has none")
	return f.all
}
