package exam

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// A report of two domains, with sums by hand: 6 of 10 and 20 of 30.
func report() rubric.Report {
	return rubric.Report{Total: 26000, Held: []string{rubric.HeldCharted}, Domains: []rubric.Domain{
		{ID: "handling", Points: 6000, Max: 10000, Lines: []rubric.Line{
			{ID: "handling/settle", Points: 8000, Max: 10000}, {ID: "handling/hazard/grip", Points: -2000}}},
		{ID: "findings", Points: 20000, Max: 30000, Lines: []rubric.Line{
			{ID: "findings/murmur", Points: 25000, Max: 30000}, {ID: "findings/scaled", Points: -5000}, {ID: "findings/said", Points: 0}}},
	}}
}

var asked = rubric.Rubric{Pass: 26000, Hurdles: []rubric.Hurdle{{Domain: "handling", Share: 600}}}

func TestSettle(t *testing.T) {
	charted := Decision{What: rubric.HeldCharted, Reason: "seen to examine it"}
	for _, row := range []struct {
		name      string
		change    func(*rubric.Report)
		overrides []Override
		decisions []Decision
		total     rubric.Points
		pass      bool
		waits     []string
	}{
		{"as computed", nil, nil, nil, 26000, true, []string{rubric.HeldCharted}},
		{"the flag was looked at", nil, nil, []Decision{charted}, 26000, true, nil},
		{"one line up", nil, []Override{{Line: "findings/murmur", Points: 30000, Reason: "audible"}}, []Decision{charted}, 31000, true, nil},
		{"the last word counts", nil, []Override{{Line: "findings/murmur", Points: 30000, Reason: "a"}, {Line: "findings/murmur", Points: 24000, Reason: "b"}}, []Decision{charted}, 25000, false, nil},
		{"a deduction taken back", nil, []Override{{Line: "handling/hazard/grip", Points: 0, Reason: "it was gentle"}}, []Decision{charted}, 28000, true, nil},
		{"below a hurdle", nil, []Override{{Line: "handling/settle", Points: 7000, Reason: "too short"}, {Line: "findings/murmur", Points: 30000, Reason: "audible"}}, []Decision{charted}, 30000, false, nil},
		{"never below nothing", nil, []Override{{Line: "handling/settle", Points: 0, Reason: "not done"}}, []Decision{charted}, 20000, false, nil},
		{"a critical event waits", func(r *rubric.Report) {
			r.Critical, r.Held = []rubric.Event{{ID: "bite"}}, []string{rubric.HeldCritical}
		}, nil, nil, 26000, false, []string{"bite"}},
		{"it stands", func(r *rubric.Report) {
			r.Critical, r.Held = []rubric.Event{{ID: "bite"}}, []string{rubric.HeldCritical}
		},
			nil, []Decision{{What: "bite", Stands: true}}, 26000, false, nil},
		{"it does not", func(r *rubric.Report) {
			r.Critical, r.Held = []rubric.Event{{ID: "bite"}}, []string{rubric.HeldCritical}
		},
			nil, []Decision{{What: "bite", Stands: true}, {What: "bite"}}, 26000, true, nil},
	} {
		t.Run(row.name, func(t *testing.T) {
			rep := report()
			if row.change != nil {
				row.change(&rep)
			}
			m := Settle(rep, asked, row.overrides, row.decisions)
			require.Equal(t, row.total, m.Total)
			require.Equal(t, row.pass, m.Pass)
			require.Equal(t, row.waits, m.Waits)
			require.Equal(t, rep.Total, m.Computed)
		})
	}
}

func TestOverridesThatDoNotFit(t *testing.T) {
	for _, row := range []struct {
		o   Override
		err error
	}{
		{Override{Line: "findings/none", Reason: "x"}, ErrNoLine},
		{Override{Line: "findings/said", Reason: "x"}, ErrNoMark},
		{Override{Line: "findings/murmur", Points: 30001, Reason: "x"}, ErrMarkRange},
		{Override{Line: "findings/murmur", Points: -1, Reason: "x"}, ErrMarkRange},
		{Override{Line: "handling/hazard/grip", Points: -2001, Reason: "x"}, ErrMarkRange},
		{Override{Line: "findings/murmur", Points: 1}, ErrNoReason},
	} {
		require.ErrorIs(t, row.o.Check(report()), row.err)
	}
}

// A key was changed after people had marked: what no longer fits is not half
// applied, and is told.
func TestMarksOfAnEarlierKey(t *testing.T) {
	gone := Override{Line: "findings/gone", Points: 1000, Reason: "a"}
	note := Override{Line: "findings/said", Points: 1000, Reason: "b"}
	more := Override{Line: "findings/murmur", Points: 40000, Reason: "c"} // of 40 once, of 30 now
	m := Settle(report(), asked, []Override{gone, note, more}, nil)
	require.Equal(t, []Override{gone, note}, m.Void)
	require.Equal(t, rubric.Points(31000), m.Total) // 6 + 20 + 5
	require.Len(t, m.Changed, 1)
	require.Equal(t, rubric.Points(30000), m.Changed[0].Points)
}

// The same id twice in a report is marked once.
func TestALineIsMarkedOnce(t *testing.T) {
	rep := report()
	rep.Domains[0].Lines = append(rep.Domains[0].Lines, rubric.Line{ID: "handling/hazard/grip", Points: -1000})
	rep.Domains[0].Points -= 1000
	m := Settle(rep, asked, []Override{{Line: "handling/hazard/grip", Points: 0, Reason: "gentle"}}, nil)
	require.Equal(t, rubric.Points(27000), m.Total) // 5 + 2 + 20
}

func TestShown(t *testing.T) {
	require.True(t, Shown(Practice, false, []string{"x"}))
	require.False(t, Shown(Sitting, false, nil))
	require.False(t, Shown(Sitting, true, []string{"x"}))
	require.True(t, Shown(Sitting, true, nil))
}
