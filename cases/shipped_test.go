package cases_test

import (
	"testing"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/rubric/say"
	"github.com/stretchr/testify/require"
)

// A student who does everything right passes every shipped patient, whatever
// the seed; one who charts a healthy animal without touching it never does.
func TestShippedCasesCanBePassed(t *testing.T) {
	l := cases.Builtin()
	for _, k := range l.Cases() {
		for _, id := range file.IDs() {
			for seed := range uint64(6) {
				r, err := file.Builtin(id)
				require.NoError(t, err)
				p, err := cases.NewPatient(l, k, cases.SeedOf(seed))
				require.NoError(t, err)
				key, err := p.Key(r)
				require.NoError(t, err)
				played, err := p.Play(robot.Ideal(p, key))
				require.NoError(t, err)
				report := rubric.Grade(r, key, played)
				if !report.Pass || report.Total < 90000 {
					say.Fill(&report, l.Catalogue(k.Species).Words())
					for _, d := range report.Domains {
						t.Logf("%s %s of %s", d.ID, d.Points, d.Max)
						for _, line := range d.Lines {
							if line.Points < line.Max || line.Points < 0 {
								t.Logf("   %s %s of %s: %s", line.ID, line.Points, line.Max, line.Reason)
							}
						}
					}
				}
				require.True(t, report.Pass, "%s %s seed %d: %s", k.ID, id, seed, report.Total)
				require.Empty(t, report.Critical)
				require.GreaterOrEqual(t, report.Total, rubric.Points(90000), "%s %s seed %d", k.ID, id, seed)
			}
		}
	}
}

// The robots that do not look, do not think or do not care come nowhere near.
func TestShippedCasesCannotBeBluffed(t *testing.T) {
	l := cases.Builtin()
	r, err := file.Builtin("veterinary")
	require.NoError(t, err)
	grade := func(k *cases.Case, seed uint64, student func(*cases.Patient, rubric.Key) []rubric.Act) rubric.Report {
		p, err := cases.NewPatient(l, k, cases.SeedOf(seed))
		require.NoError(t, err)
		key, err := p.Key(r)
		require.NoError(t, err)
		played, err := p.Play(student(p, key))
		require.NoError(t, err)
		return rubric.Grade(r, key, played)
	}
	for _, k := range l.Cases() {
		for seed := range uint64(4) {
			for name, student := range map[string]func(*cases.Patient, rubric.Key) []rubric.Act{
				"empty": robot.Empty, "all normal": robot.AllNormal, "all abnormal": robot.AllAbnormal, "invented": robot.Invented,
			} {
				report := grade(k, seed, student)
				require.LessOrEqual(t, report.Total, rubric.Points(10000), "%s %s", k.ID, name)
				require.False(t, report.Pass, "%s %s", k.ID, name)
			}
			if len(k.Conclusions.Problems) > 0 {
				require.False(t, grade(k, seed, robot.RoutineNormal).Pass, k.ID)
			}
		}
	}
	careful, reckless := grade(l.Case("fergus"), 1, robot.Ideal), grade(l.Case("fergus"), 1, robot.Reckless)
	require.GreaterOrEqual(t, careful.Total-reckless.Total, rubric.Points(40000))
	require.NotEmpty(t, reckless.Critical)
}
