package server

import (
	"dewclaw/server/auth"
	"dewclaw/server/face"
)

// sittingRoutes are the routes of sittings, for students and invigilators.
func sittingRoutes() []route {
	return []route{
		// What is set for a student, and the own turn at it.
		{get, "/assignments/:id", auth.Practise, page, noBody, (*Server).showAssigned},
		{post, "/assignments/:id/begin", auth.Practise, page, small, (*Server).doBegin},
		{post, "/orientation", auth.Practise, page, small, (*Server).doOrientation},
		{get, "/turns/:id", auth.Practise, page, noBody, (*Server).showTurn},
		{get, "/turns/:id/finish", auth.Practise, page, noBody, (*Server).showHandIn},
		{post, "/turns/:id/:deed", auth.Practise, page, small, (*Server).doTurn},
		{get, "/api/v1/assigned", auth.Practise, api, noBody, (*Server).apiAssignedAll},
		{get, "/api/v1/assigned/:id", auth.Practise, api, noBody, (*Server).apiAssigned},
		{post, "/api/v1/assigned/:id/begin", auth.Practise, api, small, (*Server).apiBegin},
		{get, "/api/v1/turns/:id", auth.Practise, api, noBody, (*Server).apiTurn},
		{get, "/api/v1/turns/:id/clock", auth.Practise, api, noBody, (*Server).apiClock},
		{post, "/api/v1/turns/:id/:deed", auth.Practise, api, small, (*Server).apiTurnDeed},

		// Watching over a sitting.
		{get, "/assignments/:id/seats", auth.Invigilate, page, noBody, (*Server).showSeats},
		{post, "/assignments/:id/seats", auth.Invigilate, page, actBody, (*Server).doSeats},
		{get, "/api/v1/assignments/:id/seats", auth.Invigilate, api, noBody, (*Server).apiSeats},
	}
}

// sittingPages are the pages of sittings, for students and invigilators.
func sittingPages(row rowMaker) []pageRow {
	return []pageRow{
		row("sitting", exampleSitting()),
		row("turn", exampleTurn()),
		row("handin", &handInPage{Base: Base{Title: "Hand everything in"}, ID: "t1", Left: "12 min", Open: "Bramble", Unbegun: 1, Done: 1, Many: 3}),
		row("orientation", orientationPageOf(face.Attempt{Patient: examplePatient(), Used: []string{"look", "typed"}})),
		row("invigilate", exampleSeats()),
	}
}

func exampleSitting() *sittingPage {
	return &sittingPage{Base: Base{Title: "Finals"}, A: exampleAssigned(), Sitting: true, Window: "Mon 7 Dec 2026, 09:00 to 12:00", Zone: "Europe/Vienna (UTC+01:00)", Phase: "open", Now: "09:01:02",
		Expect: []string{"Two patients."}, Private: []string{"Your own time is 50 minutes."}, Sound: "Not passed yet.", Oriented: "Done.", Going: "t1", MayBegin: true, Again: true, Early: true,
		Past: []pastTurn{{"t0", "Try 1", "released"}}, Wrong: "This is not open yet."}
}

func exampleAssigned() face.Assignment {
	return face.Assignment{ID: "a1", Cohort: face.Cohort{ID: "c1", Name: "Second year"}, Title: "Finals", Kind: "sitting", Opens: exampleTime, Closes: exampleTime, Now: exampleTime, Phase: "open", Patients: 2, Turns: []face.Turn{}}
}

func exampleTurn() *turnPage {
	return &turnPage{Base: Base{Title: "Finals"}, T: face.Turn{ID: "t1", Here: true, Next: true, Patients: 2, Done: 1}, Assignment: "a1", Name: "Finals", Sitting: true,
		Running: true, Paused: true, Over: true, Own: true, Left: "12 min", Ends: "10:30", PauseLeft: "10 min", Patients: []turnRow{{"1", "Bramble", "handed in", "/visits/v1/debrief", "v1"}},
		Open: "v1", OpenName: "Bramble", HandIn: true, Again: true, Released: true, What: "Your instructor releases the debriefs."}
}

func exampleSeats() *seatsPage {
	return &seatsPage{Base: Base{Title: "Seats"}, ID: "a1", Cohort: "Second year", Window: "Mon 7 Dec 2026, 09:00 to 12:00", Zone: "UTC", Now: "09:01:02", Before: true,
		Rows:  []seatRow{{ID: "p1", Name: "Kim Example", Number: "17", Find: "kim", Own: "+25 %", State: "sits", Begun: "09:00", Patient: "1 of 2", Act: "act 4, 3 s ago", Here: "lost for 30 s", Left: "12 min", Mark: "lost"}},
		Deeds: seatDeeds, Form: seatForm{"minutes", "p1", "10", "Fire drill"}, Wrong: "Nothing was done.", Log: []seatNote{{"09:10:00", "Robin Example", "gave minutes (5 min)", "everybody", "Fire drill"}}}
}
