package cases_test

import (
	"strings"
	"testing"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/rubric/say"
	"github.com/stretchr/testify/require"
)

// graded is a visit by a student to a patient of the library, marked.
func graded(t *testing.T, k *cases.Case, track string, seed uint64, student robot.Student) rubric.Report {
	t.Helper()
	l := cases.Builtin()
	r, err := file.Builtin(track)
	require.NoError(t, err)
	p, err := cases.NewPatient(l, k, cases.SeedOf(seed))
	require.NoError(t, err)
	key, err := p.Key(r)
	require.NoError(t, err)
	played, err := p.Play(student(p, key))
	require.NoError(t, err)
	return rubric.Grade(r, key, played)
}

// lost says in words what a report took away.
func lost(k *cases.Case, report rubric.Report) string {
	var b strings.Builder
	say.Fill(&report, cases.Builtin().Catalogue(k.Species).Words())
	for _, d := range report.Domains {
		b.WriteString(d.ID + " " + d.Points.String() + " of " + d.Max.String() + "\n")
		for _, line := range d.Lines {
			if line.Points < line.Max || line.Points < 0 {
				b.WriteString("   " + line.ID + " " + line.Points.String() + " of " + line.Max.String() + ": " + line.Reason + "\n")
			}
		}
	}
	return b.String()
}

// A student who does everything right passes every shipped patient, whatever
// the seed. Two seeds are tried here; `dewclaw check --seeds` tries many.
func TestShippedCasesCanBePassed(t *testing.T) {
	for _, k := range cases.Builtin().Cases() {
		t.Run(k.ID, func(t *testing.T) {
			t.Parallel()
			for _, track := range file.IDs() {
				for seed := range uint64(2) {
					report := graded(t, k, track, seed, robot.Ideal)
					require.True(t, report.Pass, "%s seed %d: %s", track, seed, lost(k, report))
					require.Empty(t, report.Critical)
					require.GreaterOrEqual(t, report.Total, rubric.Points(90000), "%s seed %d: %s", track, seed, lost(k, report))
				}
			}
		})
	}
}

// The robots that do not look, do not think or do not care come nowhere near.
func TestShippedCasesCannotBeBluffed(t *testing.T) {
	untouched := map[string]robot.Student{
		"empty": robot.Empty, "all normal": robot.AllNormal, "all abnormal": robot.AllAbnormal, "invented": robot.Invented,
	}
	for _, k := range cases.Builtin().Cases() {
		t.Run(k.ID, func(t *testing.T) {
			t.Parallel()
			for name, student := range untouched {
				report := graded(t, k, "veterinary", 1, student)
				require.LessOrEqual(t, report.Total, rubric.Points(10000), name)
				require.False(t, report.Pass, name)
			}
			if len(k.Conclusions.Problems) > 0 {
				require.False(t, graded(t, k, "veterinary", 1, robot.RoutineNormal).Pass)
			}
			if k.Situation == "triage" {
				careful, reckless := graded(t, k, "veterinary", 1, robot.Ideal), graded(t, k, "veterinary", 1, robot.Reckless)
				require.GreaterOrEqual(t, careful.Total-reckless.Total, rubric.Points(40000))
				require.NotEmpty(t, reckless.Critical)
			}
		})
	}
}
