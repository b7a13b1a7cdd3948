package server

import (
	"dewclaw/server/auth"
	"dewclaw/server/face"
)

// assignmentBody is what the form of an assignment may hold: every case of a
// large library, ticked for every patient.
const assignmentBody = 256 << 10

// assignmentRoutes are the routes of assignments, for those who set them.
func assignmentRoutes() []route {
	return []route{
		{get, "/cohorts/:id/assignments", auth.SetAssignments, page, noBody, (*Server).showAssignments},
		{post, "/cohorts/:id/assignments", auth.SetAssignments, page, assignmentBody, (*Server).doNewAssignment},
		{get, "/cohorts/:id/assignments/new", auth.SetAssignments, page, noBody, (*Server).showNewAssignment},
		// GET /assignments/:id is in routes_sittings.go: its students wait there, and who manages it comes here.
		{get, "/assignments/:id/change", auth.SetAssignments, page, noBody, (*Server).showChangeAssignment},
		{post, "/assignments/:id/change", auth.SetAssignments, page, assignmentBody, (*Server).doChangeAssignment},
		{post, "/assignments/:id/set", auth.SetAssignments, page, actBody, (*Server).doSetAssignment},
		{post, "/assignments/:id/withdraw", auth.SetAssignments, page, actBody, (*Server).doWithdrawAssignment},
		{post, "/assignments/:id/later", auth.SetAssignments, page, actBody, (*Server).doCloseLater},
		{post, "/assignments/:id/copy", auth.SetAssignments, page, small, (*Server).doCopyAssignment},
		{post, "/assignments/:id/delete", auth.SetAssignments, page, small, (*Server).doDeleteAssignment},
		{post, "/assignments/:id/putback", auth.SetAssignments, page, small, (*Server).doPutBackAssignment},

		{get, "/api/v1/cohorts/:id/assignments", auth.SetAssignments, api, noBody, (*Server).apiSetList},
		{post, "/api/v1/cohorts/:id/assignments", auth.SetAssignments, api, assignmentBody, (*Server).apiMakeAssignment},
		{get, "/api/v1/assignments/:id", auth.SetAssignments, api, noBody, (*Server).apiOneSet},
	}
}

// assignmentPages are the pages of assignments, for those who set them.
func assignmentPages(row rowMaker) []pageRow {
	return []pageRow{
		row("assignments", exampleAssignments()),
		row("assignment", exampleAssignment()),
		row("assignmentform", exampleAssignmentForm()),
	}
}

func exampleAssignments() *assignmentsPage {
	row := assignmentRow{ID: "a1", Title: "Hearts", Kind: "practice", State: "● open", Opens: "Mon 2 Nov 2026, 09:00", Closes: "Fri 27 Nov 2026, 18:00", Patients: "3 patients", Asks: "until it closes, any number of tries"}
	return &assignmentsPage{Base: Base{Title: "Assignments", Person: examplePerson("instructor")}, Cohort: "c1", Name: "Second year", Zone: "Europe/Vienna (UTC+01:00)",
		Rows: []assignmentRow{row}, Deleted: []assignmentRow{row}, Page: 2, Pages: 3, Prev: 1, Next: 3, Total: 120}
}

func exampleAssignment() *assignmentPage {
	return &assignmentPage{Base: Base{Title: "Finals", Person: examplePerson("instructor")}, ID: "a1", Cohort: "c1", CohortName: "Second year", Kind: "sitting", State: "✎ draft", Edition: "e",
		Zone: "Europe/Vienna (UTC+01:00)", Facts: []factRow{{"Opens", "Mon 7 Dec 2026, 09:00"}},
		Slots:     []slotRow{{N: 1, How: "the same for everybody", Cases: []slotCase{{"Bramble", "English springer spaniel, 8 y", "Slow on the stairs", "met in practice by 2"}}}},
		Draws:     []drawRow{{Name: "Bramble", Mean: "70.1", SD: "0.40", Width: "1.30", Excluded: "3 of 500", Verdict: "✓ equally hard", Reasons: []string{"It varies little."}}, {Name: "Tansy", State: "waits to be measured"}},
		DrawsSaid: []string{"Tried with 100 students."}, Measuring: "1 of 2 cases measured.",
		People: peopleSaid{Students: "2 students", Staff: "1 instructor", Names: []string{"Kim Example"}, More: []moreRow{{"Kim Example", "50 minutes", "Mon 7 Dec 2026, 10:30", "10 minutes", "as a trace"}}},
		Begun:  "1 student has begun it.", Seats: true, Log: []noteRow{{"Mon 2 Nov 2026, 09:00", "Robin Example", "make assignment", "detail", "reason"}}, Copies: []choiceRow{{ID: "c2", Label: "Third year"}},
		Refused: []string{"The rubric is gone."}, Against: []string{"Bramble was met."}, Unevens: []string{"Tansy is not measured."}, Cautions: []string{"All cases are public."},
		MaySet: true, MayChange: true, MayWithdraw: true, MayLater: true, MayDelete: true,
		Wrong: "Nothing was done.", Reason: "typed", Why: "typed", Later: "2026-12-07T10:00", LaterTwice: []choiceRow{{ID: "first", Label: "the first"}}, Uneven: true}
}

func exampleAssignmentForm() *assignmentFormPage {
	choices := []choiceRow{{"full", "Whole lines", "every line", true}, {"none", "Nothing", "blank lines", false}}
	return &assignmentFormPage{Base: Base{Title: "Change Finals", Person: face.Person{ID: "p", Role: "instructor"}}, Cohort: "c1", CohortName: "Second year", ID: "a1", Action: "/assignments/a1/change",
		Sitting: true, WasSet: true, Zone: "UTC", F: assignmentForm{Title: "Finals", Kind: "sitting", Order: "drawn", Slots: make([]slotForm, 1)},
		Tracks: choices, Cues: choices, Where: choices, OpensTwice: choices, ClosesTwice: choices, MayAdd: true, Most: mostSlots,
		Slots: []slotFormRow{{N: 1, Species: choices, Systems: choices, Difficulties: choices, Said: "One is ticked.", Bad: "none is chosen",
			Cases: []caseTick{{"stairs", "Bramble", "spaniel", "Slow on the stairs", "met in practice by 2", true}}}},
		Problems: []formProblem{{"title", "Title", "A title."}, {"patient-1", "", "None."}}, Bad: map[string]string{"title": "A title.", "slots": "x", "opens": "x", "closes": "x", "minutes": "x", "tries": "x", "track": "x", "cue": "x", "places": "x"}, Wrong: "Nothing was saved."}
}
