package rubric_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// What a key must hold for a domain to be judged by it; alone it is enough.
func TestWhatADomainIsJudgedBy(t *testing.T) {
	step := []rubric.Step{{ID: "step", Kind: rubric.Examine, Required: true, Weight: 1}}
	one := rubric.Weights{Order: 20, Completeness: 20, Findings: 20, Vitals: 20, Handling: 10, Conclusions: 10}
	for name, row := range map[string]struct {
		key    rubric.Key
		judged string
	}{
		"nothing":           {rubric.Key{}, ""},
		"a required step":   {rubric.Key{Steps: step}, "completeness findings handling"},
		"two steps":         {rubric.Key{Steps: []rubric.Step{{ID: "a", Kind: rubric.Examine}, {ID: "b", Kind: rubric.Examine}}}, "order"},
		"a topic":           {rubric.Key{Topics: []string{"appetite"}}, "completeness"},
		"a finding":         {rubric.Key{Findings: []rubric.Finding{{Field: "f"}}}, "findings"},
		"a negative":        {rubric.Key{Negatives: []rubric.Place{{Field: "f"}}}, "findings"},
		"a vital":           {rubric.Key{Vitals: []rubric.Vital{{Field: "f", Required: true}}}, "vitals"},
		"a vital in excess": {rubric.Key{Vitals: []rubric.Vital{{Field: "f"}}}, ""},
		"a precaution":      {rubric.Key{Precautions: []rubric.Precaution{{ID: "p", Kind: "done", Done: []string{"ask"}}}}, "handling"},
		"an urgency":        {rubric.Key{Expected: rubric.Expected{Urgency: "routine"}}, "conclusions"},
		"a problem":         {rubric.Key{Expected: rubric.Expected{Problems: []rubric.Problem{{ID: "p"}}}}, "conclusions"},
		"a report":          {rubric.Key{Expected: rubric.Expected{Report: []rubric.Place{{Field: "f"}}}}, "conclusions"},
	} {
		var judged []string
		var sum rubric.Points
		for _, d := range rubric.Grade(rubric.Rubric{Weights: one}, row.key, nil).Domains {
			if d.Max > 0 {
				judged = append(judged, d.ID)
			}
			sum += d.Max
		}
		require.Equal(t, row.judged, strings.Join(judged, " "), name)
		if row.judged != "" {
			require.Equal(t, rubric.Points(100_000), sum, "%s: the others share the weight", name)
		}
	}
}

// murmur is a key with a graded field at three sites, found at the first of them
// and heard at the second too, and a plain field that is accepted for it.
func murmur() rubric.Key {
	return rubric.Key{
		Steps: []rubric.Step{
			{ID: "listen", Kind: rubric.Examine, Required: true, Weight: 1, Sites: []string{"apex", "base", "other"}, Reveals: []string{"murmur"}},
			{ID: "look", Kind: rubric.Examine, Required: true, Weight: 1, Reveals: []string{"note"}},
		},
		Fields: []rubric.Field{
			{ID: "murmur", Kind: "grade", PerSite: true, Sites: []string{"apex", "base", "other"}, Of: []string{"none", "split", "1", "2", "3", "4", "5"}, Normal: []string{"none"}, Variants: []string{"split"}, Tolerance: 1, AcceptAs: []string{"note"}},
			{ID: "note", Kind: "choice", Of: []string{"quiet", "noise"}, Normal: []string{"quiet"}},
		},
		Findings: []rubric.Finding{{Field: "murmur", Site: "apex", Also: []string{"base"}, Value: "4", Major: true, Steps: []string{"listen"}}},
	}
}

// heard writes a transcript: "apex=4" shows that truth at that site, "=4" shows
// it without a site, "apex:4" charts it there and ":4" without a site;
// "note:noise" looks first.
func heard(script string) rubric.Transcript {
	var list rubric.Transcript
	add := func(a rubric.Act, shown ...rubric.Shown) {
		a.N = len(list) + 1
		list = append(list, rubric.Entry{Act: a, Outcome: rubric.Outcome{Shown: shown}})
	}
	for _, word := range strings.Fields(script) {
		if value, ok := strings.CutPrefix(word, "note:"); ok {
			add(rubric.Act{Kind: rubric.Examine, Step: "look"}, rubric.Shown{Field: "note", Value: "quiet"})
			add(rubric.Act{Kind: rubric.Record, Field: "note", Value: value})
			continue
		}
		if site, value, ok := strings.Cut(word, "="); ok {
			add(rubric.Act{Kind: rubric.Examine, Step: "listen", Site: site}, rubric.Shown{Field: "murmur", Site: site, Value: value})
			continue
		}
		site, value, _ := strings.Cut(word, ":")
		add(rubric.Act{Kind: rubric.Record, Field: "murmur", Site: site, Value: value})
	}
	return list
}

// What becomes of one finding, in thousandths of its mark: the truth that counts
// is what was there when it was last examined at its own place, and what the
// finding says elsewhere.
func TestOneFindingThroughAllItsFates(t *testing.T) {
	for _, row := range []struct {
		name, script string
		part         int // thousandths
		how, charted string
	}{
		{"caught", "apex=4 apex:4", 1000, "caught", "4"},
		{"a step off in grade", "apex=4 apex:3", 1000, "caught", "3"},
		{"two steps off in grade", "apex=4 apex:2", 800, "partly", "2"},
		{"where it is heard too", "apex=4 base=2 base:4", 1000, "caught", "4"},
		{"the grade of where it is heard too", "apex=4 base=2 base:2", 800, "partly", "2"},
		{"softer by now", "apex=4 apex=2 apex:2", 1000, "caught", "2"},
		{"softer by now, charted as it was", "apex=4 apex=2 apex:4", 800, "partly", "4"},
		{"at another site", "apex=4 other=none other:4", 800, "partly", "4"},
		{"without a site", "apex=4 :4", 800, "partly", "4"},
		{"called normal", "apex=4 apex:none", -200, "normal", "none"},
		{"called a variant", "apex=4 apex:split", -200, "normal", "split"},
		{"called normal everywhere", "apex=4 :none", -200, "normal", "none"},
		{"left blank", "apex=4", 0, "blank", ""},
		{"only its quiet neighbour charted", "apex=4 other=none other:none", 0, "blank", ""},
		{"gone by now, and charted so", "apex=4 apex=none apex:none", 1000, "caught", "none"},
		{"a variant by now, and charted normal", "apex=4 apex=split apex:none", 1000, "caught", "none"},
		{"gone by now, charted without a site", "=4 =none :none", 1000, "caught", "none"},
		{"gone where it is heard too, and charted there alone", "apex=4 base=none base:none", 0, "blank", ""},
		{"shown without a site", "=4 apex:4", 1000, "caught", "4"},
		{"in the field that is accepted for it", "apex=4 note:noise", 1000, "caught", "noise"},
		{"never examined", "other=none", 0, "unseen", ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			k := murmur()
			rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, k, heard(row.script))
			l := line(t, rep, "findings/murmur@apex")
			if row.how != "unseen" {
				require.InDelta(t, int64(l.Max)*int64(row.part)/1000, int64(l.Points), 1, dump(rep))
			}
			require.Equal(t, row.how, rep.Findings[0].How)
			require.Equal(t, row.charted, rep.Findings[0].Charted)
		})
	}
}

// At a station without a simulated patient the truth is the key's; "unknown"
// drops the finding.
func TestAFindingOfAStation(t *testing.T) {
	k := murmur()
	k.Static = []rubric.Shown{{Field: "murmur", Site: "apex", Value: "4"}}
	list := heard("apex= apex:4")
	list[0].Outcome.Shown = nil
	rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, k, list)
	l := line(t, rep, "findings/murmur@apex")
	require.Positive(t, l.Max)
	require.Equal(t, l.Max, l.Points, dump(rep))
	k.Static[0].Value = "unknown"
	rep = rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, k, list)
	require.Equal(t, "unknown", rep.Findings[0].How)
	require.False(t, slices.ContainsFunc(rep.Domains[2].Lines, func(l rubric.Line) bool { return l.Points != 0 }), dump(rep))
}

// The acts behind a finding are where it was shown and where it was charted; its
// truth is what was last seen at its own place.
func TestTheActsAndTheTruthOfAFinding(t *testing.T) {
	for script, want := range map[string]struct {
		truth string
		acts  []int
	}{
		"apex=4 apex:4": {"4", []int{1, 2}},
		"other=none apex=4 apex=2 other:none apex:2": {"2", []int{3, 5}},
		"=4 other=none apex:4":                       {"4", []int{1, 3}},
		"apex=4 base=2 base:4":                       {"4", []int{1, 3}},
		"other=none apex=4":                          {"4", []int{2}},
	} {
		rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, murmur(), heard(script))
		require.Equal(t, want.truth, rep.Findings[0].Truth, script)
		require.Equal(t, want.acts, rep.Findings[0].Acts, script)
		require.Equal(t, want.acts, line(t, rep, "findings/murmur@apex").Acts, script)
	}
}

// An abnormality that handling brought on elsewhere is no finding and no false
// alarm, and does not stand in for the finding that was left blank.
func TestWhatHandlingBroughtOnStandsForNothingElse(t *testing.T) {
	rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, murmur(), heard("apex=4 other=3 other:3"))
	require.Equal(t, "blank", rep.Findings[0].How)
	require.Empty(t, codesOf(rep, "false.alarm"), dump(rep))
	require.Equal(t, rubric.Detection{Misses: 1}, rep.Detection)
}

// A finding that is a number, such as the length of a node, may be off by its
// field's tolerance, in whole units.
func TestAFindingThatIsANumber(t *testing.T) {
	for charted, part := range map[string]int64{"5": 1000, "6": 1000, "4": 1000, "6.001": 800, "3.9": 800, "1": -200} {
		k := rubric.Key{
			Steps:    []rubric.Step{{ID: "feel", Kind: rubric.Examine, Required: true, Weight: 1, Reveals: []string{"length"}}},
			Fields:   []rubric.Field{{ID: "length", Kind: "number", Ranged: true, NormalHigh: 2000, Tolerance: 1}},
			Findings: []rubric.Finding{{Field: "length", Value: "5", Major: true, Steps: []string{"feel"}}},
		}
		rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, k, rubric.Transcript{
			{Act: rubric.Act{N: 1, Kind: rubric.Examine, Step: "feel"}, Outcome: rubric.Outcome{Shown: []rubric.Shown{{Field: "length", Value: "5"}}}},
			{Act: rubric.Act{N: 2, Kind: rubric.Record, Field: "length", Value: charted}}})
		l := line(t, rep, "findings/length")
		require.InDelta(t, int64(l.Max)*part/1000, int64(l.Points), 1, charted)
	}
}

// Which of a case's pertinent negatives are marked: those of a known field that is
// no vital and of which somebody knows the truth; where nothing is abnormal, those
// that a required step can show.
func TestWhichNegativesAreMarked(t *testing.T) {
	field := func(id, vital string) rubric.Field {
		return rubric.Field{ID: id, Kind: "choice", Of: []string{"usual", "odd"}, Normal: []string{"usual"}, Vital: vital}
	}
	for name, row := range map[string]struct {
		negative, truth string
		sick            bool
		want            bool
	}{
		"shown by a required step":         {"needed", "usual", false, true},
		"shown by another, healthy":        {"spare", "usual", false, false},
		"shown by another, sick":           {"spare", "usual", true, true},
		"no field of the key":              {"nothing", "usual", true, false},
		"a vital":                          {"pulse", "usual", true, false},
		"a vital, healthy":                 {"pulse", "usual", false, false},
		"that nobody knows":                {"needed", "unknown", false, false},
		"that nobody knows, at a sick one": {"needed", "unknown", true, false},
	} {
		k := rubric.Key{
			Steps: []rubric.Step{{ID: "need", Kind: rubric.Examine, Required: true, Weight: 1, Reveals: []string{"needed", "pulse", "sign"}},
				{ID: "also", Kind: rubric.Examine, Reveals: []string{"spare"}}},
			Fields:    []rubric.Field{field("needed", ""), field("pulse", "crt"), field("sign", ""), field("spare", "")},
			Negatives: []rubric.Place{{Field: row.negative}},
		}
		shown := []rubric.Shown{{Field: "needed", Value: row.truth}, {Field: "sign", Value: "odd"}, {Field: "pulse", Value: "usual"}}
		if row.sick {
			k.Findings = []rubric.Finding{{Field: "sign", Value: "odd", Steps: []string{"need"}}}
		}
		rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, k, rubric.Transcript{
			{Act: rubric.Act{N: 1, Kind: rubric.Examine, Step: "need"}, Outcome: rubric.Outcome{Shown: shown}},
			{Act: rubric.Act{N: 2, Kind: rubric.Examine, Step: "also"}, Outcome: rubric.Outcome{Shown: []rubric.Shown{{Field: "spare", Value: "usual"}}}}})
		marked := slices.ContainsFunc(rep.Domains[2].Lines, func(l rubric.Line) bool { return l.ID == "findings/negative/"+row.negative && l.Max > 0 })
		require.Equal(t, row.want, marked, "%s\n%s", name, dump(rep))
	}
}

// A negative is right when it was examined and charted as it was then: normal
// called normal, or what handling brought on called abnormal.
func TestWhenANegativeIsRight(t *testing.T) {
	for script, right := range map[string]bool{
		"look=usual usual": true, "look=usual odd": false, "look=odd odd": true, "look=odd usual": false,
		"usual": false, "usual look=usual": false, "look=usual": false, "look=usual other": true, "look=other usual": true, "look=usual notexamined": false,
	} {
		k := rubric.Key{
			Steps: []rubric.Step{{ID: "look", Kind: rubric.Examine, Required: true, Weight: 1, Reveals: []string{"f", "sign"}}},
			Fields: []rubric.Field{{ID: "f", Kind: "choice", Of: []string{"usual", "other", "odd"}, Normal: []string{"usual"}, Variants: []string{"other"}},
				{ID: "sign", Kind: "choice", Of: []string{"usual", "odd"}, Normal: []string{"usual"}}},
			Negatives: []rubric.Place{{Field: "f"}},
			Findings:  []rubric.Finding{{Field: "sign", Value: "odd", Steps: []string{"look"}}},
		}
		var list rubric.Transcript
		for _, word := range strings.Fields(script) {
			e := rubric.Entry{Act: rubric.Act{N: len(list) + 1, Kind: rubric.Record, Field: "f", Value: strings.Replace(word, "notexamined", "not examined", 1)}}
			if truth, ok := strings.CutPrefix(word, "look="); ok {
				e = rubric.Entry{Act: rubric.Act{N: len(list) + 1, Kind: rubric.Examine, Step: "look"},
					Outcome: rubric.Outcome{Shown: []rubric.Shown{{Field: "f", Value: truth}, {Field: "sign", Value: "odd"}}}}
			}
			list = append(list, e)
		}
		rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, k, list)
		l := line(t, rep, "findings/negative/f")
		require.Positive(t, l.Max, script)
		require.Equal(t, right, l.Points == l.Max, "%s\n%s", script, dump(rep))
	}
}

// A false alarm is none where the finding may be heard too, nor without a site
// where the finding has been caught elsewhere; at any other normal place it is.
func TestWhereAFalseAlarmIsNone(t *testing.T) {
	for script, alarms := range map[string]int{
		"apex=4 apex:4 base=none base:2":       0,
		"apex=4 apex:4 other=none other:2":     1,
		"apex=4 apex:4 other=split other:2":    1,
		"apex=4 apex:4 other=2 other:2":        0,
		"apex=4 apex:4 other=none other:split": 0,
	} {
		rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, murmur(), heard(script))
		require.Len(t, codesOf(rep, "false.alarm"), alarms, "%s\n%s", script, dump(rep))
		require.Equal(t, alarms, rep.Detection.FalseAlarms, script)
	}
}

// rates is a vital that two steps measure, charted at two sites.
func rates() rubric.Key {
	return rubric.Key{
		Steps: []rubric.Step{{ID: "listen", Kind: rubric.Examine, Required: true, Weight: 1, Sites: []string{"left", "right"}, Reveals: []string{"rate"}},
			{ID: "feel", Kind: rubric.Examine, Required: true, Weight: 1, Reveals: []string{"rate"}}},
		Fields: []rubric.Field{{ID: "rate", Kind: "count", Vital: "heart_rate", PerSite: true, Sites: []string{"left", "right", "middle"}}},
		Vitals: []rubric.Vital{{Field: "rate", Name: "heart_rate", Rest: 96_000, HasRange: true, Low: 70_000, High: 120_000, GreyLow: 70_000, GreyHigh: 120_000, Steps: []string{"feel", "listen"}, Required: true}},
	}
}

// The last line written for a vital stands, at whatever site; the acts behind it
// are the first measuring, the one behind the line, and the line.
func TestTheLastLineOfAVitalStands(t *testing.T) {
	look := func(step, site string) rubric.Entry {
		return rubric.Entry{Act: rubric.Act{Kind: rubric.Examine, Step: step, Site: site, Seconds: 30}, Outcome: rubric.Outcome{Shown: []rubric.Shown{{Field: "rate", Site: site, Value: "96"}}}}
	}
	write := func(site, value string) rubric.Entry {
		return rubric.Entry{Act: rubric.Act{Kind: rubric.Record, Field: "rate", Site: site, Value: value, Interpretation: "normal"}}
	}
	for _, row := range []struct {
		list    rubric.Transcript
		charted string
		acts    []int
	}{
		{rubric.Transcript{look("listen", "left"), look("listen", "right"), write("left", "96"), write("right", "168")}, "168", []int{1, 2, 4}},
		{rubric.Transcript{look("listen", "left"), look("listen", "right"), write("right", "168"), write("left", "96")}, "96", []int{1, 4}},
		{rubric.Transcript{look("listen", "left"), look("listen", "right"), write("left", "96"), write("right", "168"), write("left", "92")}, "92", []int{1, 5}},
		{rubric.Transcript{look("listen", "right"), look("feel", ""), write("right", "96")}, "96", []int{1, 3}},
		{rubric.Transcript{look("feel", ""), look("listen", "right"), write("right", "96")}, "96", []int{1, 2, 3}},
	} {
		for i := range row.list {
			row.list[i].Act.N = i + 1
		}
		rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Vitals: 100}, MarkShare: 500, Windows: rubric.Windows{Heart: 15}}, rates(), row.list)
		require.Equal(t, row.charted, rep.Vitals[0].Charted)
		require.Equal(t, row.acts, line(t, rep, "vitals/rate").Acts, row.charted)
	}
}

// Written before it was ever measured, a panting animal's figure is early; what
// cannot be read is no rate either way.
func TestPantingAndALineThatIsNoFigure(t *testing.T) {
	for value, code := range map[string]string{"24": "reading.early", "fast": "reading.uncounted", "not examined": "reading.uncounted", "": "reading.uncounted"} {
		w := panting(t, "other")
		rep := w.grade([]rubric.Act{{Kind: rubric.Record, Field: "resp.rate", Value: value}, {Kind: rubric.Examine, Step: "breathing.count", Seconds: 30}})
		require.Equal(t, code, line(t, rep, "vitals/resp.rate").Code, value)
	}
}
