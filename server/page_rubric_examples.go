package server

import (
	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
)

func exampleRubricRow() rubricRow {
	return rubricRow{ID: "veterinary", Key: "0123456789abcdef", Title: "Whole examination", Track: "veterinary", From: "rubrics/ours.yaml", Version: 2, Current: true, Graded: 12, Open: 1}
}

func exampleRubrics() *rubricsPage {
	old := exampleRubricRow()
	old.Version, old.Current = 1, false
	return &rubricsPage{Base: Base{Title: "Rubrics"}, Folder: rubricFolder, Rubrics: []rubricRow{exampleRubricRow()}, Earlier: []rubricRow{old, {Title: "gone"}},
		Broken: []face.Broken{{File: "rubrics/broken.yaml", Problems: []face.Problem{{Line: 3, Col: 1, Message: "unknown key"}}}},
		Ranges: ownRanges{File: rangesName, Says: "It does not hold.", Broken: []face.Problem{{Line: 2, Col: 60, Message: "low 160 is above high 120"}}, Odds: []string{"bramble.yaml:20:3: between"}}}
}

func exampleRubric() *rubricPage {
	all := rubric.Where{}
	r := &shelved{From: "rubrics/ours.yaml", Hash: "0123456789abcdef", Rubric: rubric.Rubric{ID: "veterinary", Title: "Whole examination", Track: "veterinary", Version: 2,
		Weights: rubric.Weights{Order: 10, Completeness: 25, Findings: 25, Vitals: 20, Handling: 10, Conclusions: 10}, Pass: 70000,
		Hurdles: []rubric.Hurdle{{Domain: "findings", Share: 500}}, MarkShare: 500,
		Steps: []rubric.StepRow{{Where: all, Step: "distance.observe", Weight: 3}, {Where: all, Step: "handle:oxygen", Weight: 3, Critical: true},
			{Where: rubric.Where{Species: []string{"horse"}}, Step: "x", Weight: 1}},
		Rules:  []rubric.RuleRow{{Rule: rubric.Rule{ID: "look-first", Kind: "before-first", Before: []string{"distance.observe"}, After: []string{"touch"}, Weight: 4, Tag: "safety", Why: "Because.", Source: "common practice, no source"}}},
		Routes: []rubric.RouteRow{{Route: rubric.Route{ID: "head-to-tail", Order: [][]string{{"distance"}, {"head", "neck"}}, Floats: []rubric.Float{{Steps: []string{"distance.observe"}, Places: []string{"first", "in place"}}}}}}}}
	cat := cases.Builtin().Catalogue("dog")
	p := rubricPageOf(r, cat, "routine")
	p.R, p.Versions, p.For = exampleRubricRow(), []rubricRow{exampleRubricRow()}, []forRow{{"Dog, routine", "?species=dog&when=routine", true}}
	p.weigh(nil)
	p.Weighed, p.Misses, p.MayRegrade = "Effective.", []string{"misses"}, true
	return p
}

func exampleRegrade() *regradePage {
	return &regradePage{Base: Base{Title: "Mark visits anew"}, ID: "veterinary", RubricTitle: "Whole examination",
		From: []rubricRow{exampleRubricRow()}, To: []rubricRow{exampleRubricRow()}, Patients: []face.Term{{ID: "p", Label: "Bramble"}},
		All:   []regradingRow{{ID: "r", Began: "25 Nov 2026", By: "Ada Example", Versions: "version 1 to version 2", State: "proposed", Here: true}},
		Wrong: "Nothing was done.", WrongVisits: []string{"v1"},
		One: exampleRegrading()}
}

// exampleRegrading is a regrading in all its parts.
func exampleRegrading() *regradingView {
	mark := changedMarkRow{"Heart rate", "0.50 of 1.00", "0.40 of 0.80", "It counts for less than before."}
	return &regradingView{ID: "r", State: "proposed", StateText: "Proposed.", From: "version 1", To: "version 2", Patient: "Bramble", Sentences: []string{"One."},
		Action: "/rubrics/veterinary/regrade", More: "/rubrics/veterinary/regrade?of=r", Reason: "typed", MayLeave: true, Note: "Somebody else signs.", Alone: true,
		CanAccept: true, Working: true, Page: 2, Pages: 3, Prev: 1, Next: 3, AcceptWords: "Accept", UndoWords: "Put back",
		Visits: []changedVisit{{ID: "v1", Student: "Kim Example", Patient: "Bramble", Old: "70.00", New: "68.00", Turn: "✕ no longer passes", Count: "1 mark",
			Domains: []changedDomain{{"Vital signs", "10.00 of 20.00", "9.00 of 20.00", []changedMarkRow{mark}}}, Notes: []string{"Critical events: 0 before, 1 now."}}},
		Refused: []refusedVisit{{"v2", "Kim Example", "Bramble", "Its report cannot be read."}}, RefusedMore: 3,
		Trail: []trailRow{{"25 Nov 2026", "Ada Example", "proposed", "because"}}}
}
