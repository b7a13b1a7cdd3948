package normal

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"dewclaw/rubric"
)

// vital is what can have a range, with the units that it may be given in.
type vital struct {
	id, label string
	units     []unit
	graded    bool // it may stand in ranges.csv: the engine asks for it
}

// unit has bounds beyond which a figure must have been meant in another one.
type unit struct {
	id          string
	least, most rubric.Milli
}

var vitals = []vital{
	{"heart_rate", "heart rate", []unit{{"/min", 5_000, 1_000_000}}, true},
	{"resp_rate", "respiratory rate", []unit{{"/min", 1_000, 500_000}}, true},
	{"temperature", "rectal temperature", []unit{{"degC", 20_000, 45_000}}, true},
	{"crt", "capillary refill", []unit{{"s", 0, 20_000}}, true},
	{"body_condition", "body condition", []unit{{"/9", 1_000, 9_000}, {"/5", 1_000, 5_000}}, true},
	{"rumen", "rumen contractions", []unit{{"/min", 0, 10_000}}, false},
}

// Label is a vital in the trade's words.
func Label(id string) string {
	for _, v := range vitals {
		if v.id == id {
			return v.label
		}
	}
	return strings.ReplaceAll(id, "_", " ")
}

// Vitals are the ids of the vitals that are graded by a range, in the order in
// which they are shown.
func Vitals() []string {
	var out []string
	for _, v := range vitals {
		if v.graded {
			out = append(out, v.id)
		}
	}
	return out
}

var (
	idPattern      = regexp.MustCompile(`^[a-z][a-z0-9_.-]{0,79}$`)
	speciesPattern = regexp.MustCompile(`^[a-z][a-z -]{0,39}$`)
)

// Check reads a file of ranges and returns every problem, in the order of the
// file. The table is of use only when there is none.
func Check(file string, data []byte) (Table, []Problem) {
	found, problems := checked(file, data)
	return tableOf(found), problems
}

func checked(file string, data []byte) ([]placed[Row], []Problem) {
	found, problems := rangeSheet.read(file, data)
	ids := map[string]int{}
	for i := range found {
		p := &found[i]
		problems = append(problems, rowProblems(p)...)
		if line, twice := ids[p.row.ID]; twice {
			problems = append(problems, rangeSheet.problem(p, "id", "the id %q stands in line %d already; give every row its own", clip(p.row.ID), line))
		} else {
			ids[p.row.ID] = p.at[0][0]
		}
		for j := range found[:i] {
			if o := &found[j]; rivals(&o.row, &p.row) {
				problems = append(problems, rangeSheet.problem(p, "age_from_days", "this row reaches animals that %q of line %d reaches too; let their ages or weights not overlap", clip(o.row.ID), o.at[0][0]))
				break
			}
		}
	}
	return found, sorted(problems)
}

// rivals says that of two rows only their order tells which one counts. A row
// with an id of its own goes before those that take the place of ours, so these
// are none.
func rivals(a, b *Row) bool {
	_, oursA := rows.Find(a.ID)
	_, oursB := rows.Find(b.ID)
	return oursA == oursB && a.ID != b.ID && a.Species == b.Species && a.Vital == b.Vital && a.Days.meets(b.Days) && a.Grams.meets(b.Grams)
}

func sorted(problems []Problem) []Problem {
	slices.SortStableFunc(problems, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col))
	})
	if len(problems) > maxTold {
		return problems[:maxTold]
	}
	return problems
}

// rowProblems are those of one row of ranges.csv for itself.
func rowProblems(p *placed[Row]) []Problem {
	r, f := &p.row, faults[Row]{sheet: rangeSheet, p: p}
	f.when(!idPattern.MatchString(r.ID), "id", "the id %q should be of small letters, digits, points, hyphens and underscores, such as dog.small.heart_rate", clip(r.ID))
	f.animal(r.Species, r.Class, r.Days, r.Grams)
	if u := f.measured(r.Vital, r.Unit, true); u != nil {
		for _, n := range []struct {
			column string
			m      rubric.Milli
		}{{"low", r.Low}, {"high", r.High}, {"grey_low", r.GreyLow}, {"grey_high", r.GreyHigh}} {
			f.inUnit(n.column, n.m, u)
		}
	}
	f.when(r.Low > r.High, "low", "low %s is above high %s; right would be low at most high", r.Low, r.High)
	f.when(r.GreyLow > r.Low, "grey_low", "grey_low %s is above low %s; the grey zone encloses the normal range", r.GreyLow, r.Low)
	f.when(r.GreyHigh < r.High, "grey_high", "grey_high %s is below high %s; the grey zone encloses the normal range", r.GreyHigh, r.High)
	f.when(r.Source == "", "source", "the source is left out; say who, where and when: which figure")
	f.when(r.Confidence == "", "confidence", "the confidence is left out; say read in the source, from memory, or what it is derived from")
	return f.all
}

// faults gathers the problems of a row.
type faults[R any] struct {
	sheet sheet[R]
	p     *placed[R]
	all   []Problem
}

func (f *faults[R]) when(wrong bool, column, format string, args ...any) {
	if wrong {
		f.all = append(f.all, f.sheet.problem(f.p, column, format, args...))
	}
}

// animal holds that a row says which animals it is for.
func (f *faults[R]) animal(species, class string, days, grams Span) {
	f.when(!speciesPattern.MatchString(species), "species", "the species %q should be small letters, such as dog or guinea pig", clip(species))
	f.when(class == "", "class", "the class is left out; right would be adult, small, puppy or the like, or any")
	f.when(days.To < days.From, "age_to_days", "the ages run downwards, from %d to %d days", days.From, days.To)
	f.when(grams.To < grams.From, "grams_to", "the weights run downwards, from %d to %d grams", grams.From, grams.To)
}

// measured finds the unit of a row; nil where vital or unit are unknown, which
// it tells.
func (f *faults[R]) measured(id, unitID string, graded bool) *unit {
	i := slices.IndexFunc(vitals, func(v vital) bool { return v.id == id && (v.graded || !graded) })
	if i < 0 {
		f.when(true, "vital", "there is no vital %q; right would be %s", clip(id), strings.Join(Vitals(), ", "))
		return nil
	}
	var units []string
	for j := range vitals[i].units {
		if vitals[i].units[j].id == unitID {
			return &vitals[i].units[j]
		}
		units = append(units, vitals[i].units[j].id)
	}
	f.when(true, "unit", "the unit %q is none of %s; right would be %s", clip(unitID), id, strings.Join(units, " or "))
	return nil
}

func (f *faults[R]) inUnit(column string, m rubric.Milli, u *unit) {
	f.when(m < u.least || m > u.most, column, "%s %s cannot be in %s; right would lie from %s to %s", column, m, u.id, u.least, u.most)
}

// String is a row for a reader of logs and tests.
func (r Row) String() string {
	return fmt.Sprintf("%s %s-%s (%s-%s) %s", r.ID, r.Low, r.High, r.GreyLow, r.GreyHigh, r.Unit)
}
