package server

func exampleMarks() *marksPage {
	return &marksPage{Base: Base{Title: "Marks", Person: examplePerson("instructor")}, ID: "a", Assignment: "Spring sitting", Cohort: "Second year", CohortID: "c",
		Rows: []marksRow{
			{Name: "Kim Example", Number: "4711", Patient: "Bramble", State: "marked", Try: 2, Computed: "70.00", Total: "71.50", Result: "✓ passed", ByHand: true, Released: true, Visit: "/visits/v1/marks", More: "?of=t", Here: true},
			{Name: "Lee Example", Patient: "Bramble", State: "under way", Try: 1, Waits: "It bit.", Why: "a critical event stands", Excused: true, More: "?of=u"}},
		Tries: true, Sort: "total", Find: "example", Page: 2, Pages: 3, Prev: 1, Next: 3, Found: 240, Summary: []string{"Debriefs are released to 1 of 2 turns."},
		LeftOut: []leftOutRow{{"Lee Example", "Is still sitting.", "?of=u", 2}}, Ready: 1, Out: 1, Still: "Lee Example", Strike: true,
		One: &turnForm{Turn: "t", Person: "p", Name: "Kim Example", Try: 2, MayRelease: true, WhyNot: "It bit.", Excused: "Fire alarm.", Opens: "2026-12-01T09:00", Closes: "2026-12-01T10:00", Zone: "UTC",
			Reason: "typed", Wrong: "Say why.", Resits: []string{"Try 3 may be begun."}},
		Wrong: "Nothing was released.", Did: "back", Reason: "typed", Unmarked: "Further visits were marked."}
}

func exampleMarkVisit() *markVisitPage {
	refs := []actRef{{2, "0:35"}}
	typed := &markForm{Do: "mark", Line: "findings/x", Points: "2", Stands: "yes", Reason: "typed", Seen: "0.0.0.0"}
	asked := &askedRow{At: "25 Nov 2026", Words: "I did hear it.", Answered: "26 Nov 2026", Answer: "So you did.", Changed: true}
	return &markVisitPage{Base: Base{Title: "Marks of Bramble"}, ID: "v1", Student: "Kim Example", Number: "4711", Patient: "Bramble: Slow on the stairs", Assignment: "Spring sitting", AssignmentID: "a",
		Try: 2, Began: "25 Nov 2026, 09:30", Rubric: "Whole examination", Engine: "1", Computed: "70.00", Total: "71.50", Max: "100", Result: "✓ passed", PassMark: "70",
		ByHand: true, Released: true, Excused: true, Seen: "0.0.0.0", Wrong: "Say why.",
		Held: []waitRow{{N: 1, What: "bite", Kind: "Critical event", Text: "It bit.", Severity: "critical", Met: refs, Shown: refs, Waits: true, Typed: typed},
			{N: 2, What: "flag", Kind: "Flag", Text: "Charted.", Stands: true, Because: "Seen."}},
		Domains: []markDomain{{ID: "findings", Label: "Findings", Points: "2.00", Max: "25", Count: "1 line", Open: true, Lines: []markLineRow{
			{N: 1, ID: "findings/x", Label: "Murmur", Marks: "2.00 of 3.00", Word: "by hand", Reason: "Heard.", Computed: "1.00", Because: "Audible.", Acts: refs, May: true, Range: "0.00 to 3.00", Asked: asked, Open: true, Typed: typed},
			{N: 2, ID: "findings/y", Label: "Gallop", Marks: "0.00 of 1.00", Word: "none", May: true, Range: "0.00 to 1.00", Asked: &askedRow{At: "25 Nov 2026", Waits: true}, Typed: typed}}}},
		Struck: []string{"The line is struck."}, Void: []string{"1.00 for a line"},
		History: []historyRow{{"25 Nov 2026", "Ada Example", "Marked.", "because"}}, Acts: []actRow{{2, "0:35", "Listened", "Heard."}}}
}

func exampleReviewQueue() *reviewQueuePage {
	return &reviewQueuePage{Base: Base{Title: "Reviews"}, Total: 60, Page: 2, Pages: 3, Prev: 1, Next: 3, Wrong: "Say why.",
		Rows: []reviewRow{{N: 1, Visit: "v1", Line: "findings/x", Seen: "0.0.0.0", Student: "Kim Example", Assignment: "Spring sitting", Patient: "Bramble", Label: "Murmur", Now: "1.00 of 3.00",
			Range: "0.00 to 3.00", Reason: "Not heard.", Asked: "25 Nov 2026", Words: "I did hear it.", Acts: []actRow{{2, "0:35", "Listened", "Heard."}}, May: true, Typed: &markForm{Points: "2", Reason: "typed"}},
			{N: 2, Visit: "v2", Line: "findings/y", Label: "Gallop"}}}
}

func exampleStrike() *strikePage {
	return &strikePage{Base: Base{Title: "Change the marking for everybody"}, ID: "a", Assignment: "Spring sitting",
		Patients: []choiceRow{{ID: "p", Label: "Bramble: Slow on the stairs", Chosen: true}}, Patient: "p", PatientName: "Bramble: Slow on the stairs",
		Domains:   []strikeDomain{{"Findings", []strikeRow{{ID: "findings/x", Label: "Murmur", Mean: "40 %", Visits: 10, Full: 3, Non: 5, Chosen: true}}}},
		Urgencies: []choiceRow{{ID: "routine", Label: "routine"}}, Problems: []choiceRow{{ID: "wound", Label: "Wound", Chosen: true}}, Reason: "typed",
		All: []regradingRow{{ID: "r", Began: "25 Nov 2026", By: "Ada Example", Versions: "Bramble: struck", State: "proposed", Here: true}},
		One: exampleRegrading(), What: "“Murmur” is struck.", Wrong: "Nothing was done.", WrongVisits: []string{"v1"}}
}
