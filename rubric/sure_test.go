package rubric_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"dewclaw/rubric"
)

// sureBytes is a report as bytes, without what it says of how sure somebody was.
func sureBytes(t require.TestingT, rep rubric.Report) string {
	rep.Sure = nil
	b, err := rubric.EncodeReport(rep)
	require.NoError(t, err)
	return string(b)
}

// How sure somebody is changes no byte of what is marked, whatever else is there.
func TestSureIsNeverMarked(t *testing.T) {
	t.Parallel()
	w := sick(t, "veterinary")
	rapid.Check(t, func(t *rapid.T) {
		list := append(w.play(w.visit(w.required())), anyTranscript(t, 20)...)
		for i := range list {
			list[i].Act.N = i + 1
			if list[i].Act.Kind == rubric.Record {
				list[i].Act.Of = 0
			}
		}
		plain := rubric.Grade(w.r, w.key, list)
		require.Empty(t, plain.Sure)
		said := append(rubric.Transcript{}, list...)
		for i := range said {
			if said[i].Act.Kind == rubric.Record {
				said[i].Act.Sure = rapid.SampledFrom([]string{"", "guess", "fairly", "sure"}).Draw(t, "sure")
			}
		}
		require.Equal(t, sureBytes(t, plain), sureBytes(t, rubric.Grade(w.r, w.key, said)))
		// Said afterwards it stands behind everything, so that no act has another number.
		for range rapid.IntRange(0, 4).Draw(t, "later") {
			of := rapid.IntRange(1, len(said)).Draw(t, "of")
			a := said[of-1].Act
			said = append(said, rubric.Entry{Act: rubric.Act{N: len(said) + 1, Kind: rubric.Record, Field: a.Field, Site: a.Site, Value: a.Value, Of: of, Sure: "sure"}})
		}
		require.Equal(t, sureBytes(t, plain), sureBytes(t, rubric.Grade(w.r, w.key, said)))
	})
}

// Said after a second examination that showed something else, it is still about
// the line as it was written: the line stands and is marked as before.
func TestSureSaidLaterWritesNoLineAnew(t *testing.T) {
	t.Parallel()
	w := sick(t, "veterinary")
	examine := rubric.Act{Kind: rubric.Examine, Step: "heart.auscultate", Site: "left apex", Seconds: 30}
	record := rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: "168", Interpretation: "high"}
	list := w.play([]rubric.Act{examine, record})
	w.vital("heart.rate", "96")
	again := w.play([]rubric.Act{examine})[0]
	again.Act.N = 3
	list = append(list, again)
	before := rubric.Grade(w.r, w.key, list)
	state := rubric.Entry{Act: rubric.Act{N: 4, Kind: rubric.Record, Field: "heart.rate", Value: "168", Of: 2, Sure: "sure"}}
	after := rubric.Grade(w.r, w.key, append(list, state))
	require.Equal(t, sureBytes(t, before), sureBytes(t, after))
	require.Equal(t, []rubric.SureRead{{Place: rubric.Place{Field: "heart.rate"}, Value: "168", Truth: "168", Sure: "sure", Right: true, Act: 2}}, after.Sure)
	lines := rubric.Chart(w.key.Fields, append(list, state))
	require.Len(t, lines, 1)
	require.Equal(t, "sure", lines[0].Sure)
	require.Equal(t, "high", lines[0].Interpretation, "the line is the one that was written")
	state.Act.Of = 1
	require.Empty(t, rubric.Grade(w.r, w.key, append(list, state)).Sure, "that act wrote no such line")
}

func TestSureIsHeldAgainstWhatWasThere(t *testing.T) {
	t.Parallel()
	w := sick(t, "veterinary")
	for name, row := range map[string]struct {
		step, site, field, value string
		told, right              bool
	}{
		"a rate within its tolerance":    {"heart.auscultate", "left apex", "heart.rate", "172", true, true},
		"a rate beyond it":               {"heart.auscultate", "left apex", "heart.rate", "120", true, false},
		"a temperature within .2":        {"temperature.measure", "", "temperature", "38.7", true, true},
		"a temperature beyond":           {"temperature.measure", "", "temperature", "38.8", true, false},
		"a class of refill":              {"mouth.refill", "", "crt", "1-2", true, true},
		"another class":                  {"mouth.refill", "", "crt", ">2", true, false},
		"a choice by name":               {"heart.auscultate", "left apex", "heart.auscultate.look", "bad", true, true},
		"another abnormal choice":        {"heart.auscultate", "left apex", "heart.auscultate.look", "odd", true, false},
		"an abnormal one called normal":  {"heart.auscultate", "left apex", "heart.auscultate.look", "normal", true, false},
		"a normal one called a variant":  {"nose.inspect", "left", "nose.inspect.look", "other", true, true},
		"a grade within its tolerance":   {"stifle.palpate", "right", "stifle.palpate.pain", "2", true, true},
		"a grade beyond it":              {"stifle.palpate", "right", "stifle.palpate.pain", "1", true, false},
		"a normal called the next grade": {"stifle.palpate", "left", "stifle.palpate.pain", "1", true, false},
		"what was not examined":          {"gait.observe", "", "heart.rate", "96", false, false},
		"what cannot be read":            {"heart.auscultate", "left apex", "heart.rate", "fast", false, false},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			a := rubric.Act{Kind: rubric.Record, Field: row.field, Value: row.value, Sure: "fairly"}
			if f := w.field(row.field); f.PerSite {
				a.Site = row.site
			}
			rep := rubric.Grade(w.r, w.key, w.play([]rubric.Act{{Kind: rubric.Examine, Step: row.step, Site: row.site, Seconds: 30}, a}))
			if !row.told {
				require.Empty(t, rep.Sure)
				return
			}
			require.Len(t, rep.Sure, 1)
			require.Equal(t, row.right, rep.Sure[0].Right)
			require.Equal(t, "fairly", rep.Sure[0].Sure)
		})
	}
}

// What is marked as the finding that was there is not called wrong: it was charted
// in a line, or at a site, that counts as the same.
func TestSureIsRightWhereTheSameFindingIsMeant(t *testing.T) {
	t.Parallel()
	w := sick(t, "veterinary")
	w.field("skin.inspect.look").AcceptAs = []string{"coat.inspect.look"}
	for i := range w.key.Findings {
		if w.key.Findings[i].Field == "heart.auscultate.look" {
			w.key.Findings[i].Also = []string{"left base"}
		}
	}
	for name, row := range map[string]struct {
		step, site, field, value string
		right                    bool
	}{
		"another line for it":     {"coat.inspect", "", "coat.inspect.look", "odd", true},
		"and called normal there": {"coat.inspect", "", "coat.inspect.look", "normal", true},
		"a site beside it":        {"heart.auscultate", "left base", "heart.auscultate.look", "bad", true},
		"by another name there":   {"heart.auscultate", "left base", "heart.auscultate.look", "odd", false},
		"a site that is none":     {"heart.auscultate", "right apex", "heart.auscultate.look", "bad", false},
	} {
		a := rubric.Act{Kind: rubric.Record, Field: row.field, Value: row.value, Sure: "sure"}
		if w.field(row.field).PerSite {
			a.Site = row.site
		}
		rep := w.grade([]rubric.Act{{Kind: rubric.Examine, Step: row.step, Site: row.site, Seconds: 30}, a})
		require.Len(t, rep.Sure, 1, name)
		require.Equal(t, row.right, rep.Sure[0].Right, name)
	}
}

func TestSureStandsBesideAValueThatWasFound(t *testing.T) {
	t.Parallel()
	good := rubric.Act{N: 3, Kind: rubric.Record, Field: "heart.rate", Value: "96", Sure: "guess"}
	require.NoError(t, good.Check())
	for name, change := range map[string]func(*rubric.Act){
		"no such word":          func(a *rubric.Act) { a.Sure = "certain" },
		"a whole region":        func(a *rubric.Act) { a.Field, a.Region, a.Value = "", "chest", "normal" },
		"an entry taken off":    func(a *rubric.Act) { a.Value = "" },
		"what was not examined": func(a *rubric.Act) { a.Value, a.Reason = rubric.NotExamined, "it growled" },
		"another kind of act":   func(a *rubric.Act) { *a = rubric.Act{N: 3, Kind: rubric.Wait, Seconds: 5, Sure: "guess"} },
		"of without it":         func(a *rubric.Act) { a.Of, a.Sure = 2, "" },
		"of an act to come":     func(a *rubric.Act) { a.Of = 3 },
	} {
		a := good
		change(&a)
		require.ErrorIs(t, a.Check(), rubric.ErrAct, name)
	}
}
