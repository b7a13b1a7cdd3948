package rubric_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
	"dewclaw/rubric/say"
)

// moved charts what belongs at one site at another and leaves the first blank.
func moved(field, from, to string) func(rubric.Act) []rubric.Act {
	return func(a rubric.Act) []rubric.Act {
		if a.Kind != rubric.Record || a.Field != field {
			return []rubric.Act{a}
		}
		switch a.Site {
		case to:
			return nil
		case from:
			a.Site = to
		}
		return []rubric.Act{a}
	}
}

// The value at the mirrored site, at another site and missing are three things;
// the first two earn the same.
func TestSidesSwappedAreToldFromMissedAndFromAWrongSite(t *testing.T) {
	const apex = "findings/heart.auscultate.look@left apex"
	for _, row := range []struct {
		name   string
		change func(rubric.Act) []rubric.Act
		code   string
		points rubric.Points
	}{
		{"mirrored", moved("heart.auscultate.look", "left apex", "right apex"), "finding.swapped", 6_000},
		{"elsewhere", moved("heart.auscultate.look", "left apex", "left base"), "finding.misplaced", 6_000},
		{"missed", rewrite("heart.auscultate.look", "left apex", "usual"), "finding.normal", -1_500},
		{"mirrored, and of another kind", func(a rubric.Act) []rubric.Act {
			list := moved("heart.auscultate.look", "left apex", "right apex")(a)
			for i := range list {
				if list[i].Value == "bad" && list[i].Site == "right apex" {
					list[i].Value = "odd"
				}
			}
			return list
		}, "finding.partly", 3_000},
	} {
		t.Run(row.name, func(t *testing.T) {
			w := sick(t, "veterinary")
			rep := w.grade(mended(w, row.change))
			l := line(t, rep, apex)
			require.Equal(t, row.code, l.Code)
			require.Equal(t, row.points, l.Points)
		})
	}
}

// Two abnormal sides that have changed places are swapped too; what they earn
// is what their grades earn.
func TestTwoSidesThatChangedPlaces(t *testing.T) {
	w := sick(t, "veterinary")
	w.abnormal("stifle.palpate", "pain", "left", "1", false)
	rep := w.grade(mended(w, func(a rubric.Act) []rubric.Act {
		if a.Kind == rubric.Record && a.Field == "stifle.palpate.pain" {
			a.Site = map[string]string{"left": "right", "right": "left"}[a.Site]
		}
		return []rubric.Act{a}
	}))
	for site, at := range map[string]string{"left": "right", "right": "left"} {
		l := line(t, rep, "findings/stifle.palpate.pain@"+site)
		require.Equal(t, "finding.swapped", l.Code)
		require.InDelta(t, int64(l.Max)*8/10, int64(l.Points), 1, "the grade is lost, the call and the site stand")
		require.Contains(t, l.Args, rubric.Arg{Name: "at", Value: at})
	}
	require.Empty(t, codesOf(rep, "false.alarm"))
}

func TestAPairedStepDoneOnOneSide(t *testing.T) {
	for _, row := range []struct {
		step string
		done []string
		code string
		site string
	}{
		{"hip.move", []string{"left"}, "step.oneside", "right"},
		{"hip.move", []string{"right"}, "step.oneside", "left"},
		{"hip.move", []string{"left", "right"}, "step.done", ""},
		{"lungs.auscultate", []string{"left dorsal", "left ventral"}, "step.oneside", "right dorsal"},
		{"lungs.auscultate", []string{"left dorsal", "right dorsal"}, "step.partly", "left ventral"},
		{"lungs.auscultate", []string{"right ventral"}, "step.oneside", "left dorsal"},
		{"abdomen.palpate", []string{"cranial"}, "step.partly", "middle"},
		{"hip.move", nil, "step.missing", ""},
	} {
		w := sick(t, "veterinary")
		full := w.visit(w.required())
		acts := slices.DeleteFunc(full, func(a rubric.Act) bool {
			return a.Kind == rubric.Examine && a.Step == row.step && !slices.Contains(row.done, a.Site)
		})
		l := line(t, w.grade(acts), "completeness/"+row.step)
		require.Equal(t, row.code, l.Code, row)
		require.InDelta(t, int64(l.Max)*int64(len(row.done))/int64(len(w.step(row.step).Sites)), int64(l.Points), 1)
		if row.site != "" {
			require.Contains(t, l.Args, rubric.Arg{Name: "site", Value: row.site}, row)
		}
	}
}

// murmuring gives a patient the two fields that bind each other.
func murmuring(t *testing.T, murmur, thrill string) *world {
	w := newWorld(t, "veterinary", "routine")
	for _, f := range []struct {
		step  string
		field rubric.Field
		truth string
	}{
		{"heart.auscultate", rubric.Field{ID: "heart.murmur", Kind: "grade", PerSite: true, Of: []string{"none", "1", "2", "3", "4", "5", "6"}, Normal: []string{"none"}, Tolerance: 1, Each: true}, murmur},
		{"chest.palpate", rubric.Field{ID: "heart.thrill", Kind: "choice", PerSite: true, Of: []string{"none", "present"}, Normal: []string{"none"}, Each: true}, thrill},
	} {
		s := w.step(f.step)
		f.field.Sites, f.field.Region = s.Sites, "heart"
		s.Reveals = append(s.Reveals, f.field.ID)
		w.key.Fields = append(w.key.Fields, f.field)
		for _, site := range s.Sites {
			w.truth[rubric.Place{Field: f.field.ID, Site: site}] = "none"
		}
		w.truth[rubric.Place{Field: f.field.ID, Site: s.Sites[0]}] = f.truth
	}
	return w
}

// Grade 5 and 6 are those with a thrill, and only those (modified Levine scale,
// clinical.md 2.6). The note goes by the student's own sheet and costs nothing.
func TestMurmurAndThrillThatContradictEachOther(t *testing.T) {
	for _, row := range []struct{ murmur, thrill, code string }{
		{"4", "present", "sheet.thrill"}, {"none", "present", "sheet.thrill"}, {"", "present", "sheet.thrill"}, {rubric.NotExamined, "present", "sheet.thrill"},
		{"5", "none", "sheet.murmur"}, {"6", "", "sheet.murmur"},
		{"5", "present", ""}, {"6", "present", ""}, {"4", "none", ""}, {"", "", ""}, {"none", "none", ""},
	} {
		w := murmuring(t, "4", "none")
		var acts []rubric.Act
		for _, a := range w.visit(w.required()) {
			switch {
			case a.Kind == rubric.Record && a.Field == "heart.murmur" && a.Site == "left apex":
				a.Value = row.murmur
			case a.Kind == rubric.Record && a.Field == "heart.thrill" && a.Site == "left":
				a.Value = row.thrill
			}
			acts = append(acts, a)
		}
		rep := w.grade(acts)
		met := append(codesOf(rep, "sheet.thrill"), codesOf(rep, "sheet.murmur")...)
		if row.code == "" {
			require.Empty(t, met, row)
			continue
		}
		require.Len(t, met, 1, row)
		l := line(t, rep, met[0])
		require.Equal(t, row.code, l.Code)
		require.Zero(t, l.Max)
		require.Zero(t, l.Points)
		require.Contains(t, l.Args, rubric.Arg{Name: "steps", Value: "chest.palpate|heart.auscultate"})
		say.Fill(&rep, spoken{})
		require.Contains(t, line(t, rep, met[0]).Reason, "contradicts itself")
	}
}

func TestATechnicianWhoNamesDiseasesIsToldSoAndLosesNothing(t *testing.T) {
	w := sick(t, "technician")
	acts := w.visit(w.required())
	before := w.grade(acts).Total
	acts[len(acts)-1].Problems = []string{"heart murmur", "cruciate disease"}
	rep := w.grade(acts)
	require.Equal(t, before, rep.Total)
	say.Fill(&rep, spoken{})
	l := line(t, rep, "conclusions/diagnosis")
	require.Equal(t, "You named heart murmur and cruciate disease. A diagnosis is the veterinarian's to make; report what you saw and measured. It costs no marks here.", l.Reason)
}
