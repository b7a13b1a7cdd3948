package server

import (
	"time"

	"dewclaw/server/face"
)

// The examples fill every part of a page, so that a template that asks for a
// field which the struct does not have fails in the test and not before a person.

var exampleTime = time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)

func examplePerson(role string) face.Person {
	return face.Person{ID: "person", Login: "kim", Name: "Kim Example", Role: role}
}

func examplePatient() face.Patient {
	return face.Patient{
		ID: "patient", Species: "dog", Name: "Bramble", Breed: "English springer spaniel", Sex: "female neutered", Age: "8 y",
		Presenting: "She has been stiff after rest for two months. I have not seen her fall.",
	}
}

func exampleLogin() *loginPage {
	return &loginPage{Base: Base{Title: "Sign in"}, Login: "kim", Next: "/", Wrong: "Login and password do not fit.", Animal: plainAnimal()}
}

func examplePatients() *patientsPage {
	p := examplePatient()
	total := face.Points(81500)
	pass := true
	who := examplePerson("instructor")
	open := face.Visit{ID: "v1", Patient: p, State: "open", Started: exampleTime}
	done := face.Visit{ID: "v2", Patient: p, Title: "Slow on the stairs", State: "graded", Started: exampleTime, Total: &total, Pass: &pass, Person: &who}
	return &patientsPage{
		Base: Base{Title: "Patients", Person: who}, Staff: true, Set: []assignedRow{{"a1", "Finals", "Second year", "sitting", "Mon 7 Dec 2026, 09:00 to 12:00", "open", []string{"Your own time is 50 minutes."}, true}},
		Past: []assignedRow{{ID: "a0", Title: "Hearts", Kind: "practice"}}, Waiting: []visitRow{visitRowOf(open, who, time.UTC)},
		Groups: []patientGroup{{"cat", "Cat", []patientRow{patientRowOf(p)}, true}, {"dog", "Dog", []patientRow{patientRowOf(p)}, false}}, Own: []rubricRow{exampleRubricRow()},
		Broken: []face.Broken{{File: "cases/mine.yaml", Problems: []face.Problem{{Line: 12, Col: 3, Message: "unknown key \"trut\"; did you mean \"truth\"?"}}}},
		Visits: []visitRow{visitRowOf(open, who, time.UTC), visitRowOf(done, who, time.UTC)}, Track: "veterinary",
		Next: nextRows([]face.Offer{{Patient: &p, Reason: "Weak: you would get about 4 of 10 murmurs right."}, {Drill: &face.OfferedDrill{Kind: "rates", Label: "Count the rate", Seconds: 100}}}),
	}
}

func exampleCatalogue() *face.Catalogue {
	return &face.Catalogue{
		Species: "dog", Label: "Dog",
		Stages:  []face.Term{{ID: "distance", Label: "From a distance"}, {ID: "chest", Label: "Chest"}},
		Regions: []face.Region{{ID: "distance", Stage: "distance", Label: "Whole animal", X: 470, Y: 70}, {ID: "heart", Stage: "chest", Label: "Heart", X: 450, Y: 580}},
		Steps: []face.Step{
			{ID: "distance.observe", Region: "distance", Verb: "inspect", Label: "Observe from a distance", Seconds: 20},
			{ID: "heart.auscultate", Region: "heart", Verb: "auscultate", Label: "Auscultate the heart", Instrument: "stethoscope", Sites: []string{"left apex", "left base", "right apex"}, Seconds: 15, Touch: true},
		},
		Fields: []face.Field{
			{ID: "heart.rate", Region: "heart", Label: "Heart rate", Abbr: []string{"HR"}, Kind: "count", Unit: "/min", Vital: "heart_rate"},
			{ID: "heart.murmur", Region: "heart", Label: "Murmur", Kind: "grade", Choices: []face.Choice{{ID: "none", Label: "None"}, {ID: "2", Label: "Grade 2"}}},
		},
		Topics:   []face.Topic{{ID: "appetite", Label: "Appetite", Ask: "How is the appetite?"}},
		Handling: []face.Handling{{ID: "reassure", Label: "Reassure", Seconds: 20}},
		Problems: []face.Problems{{ID: "osteoarthritis", Label: "Osteoarthritis", Meaning: "Wear of a joint with pain and stiffness", Synonyms: []string{"DJD"}}},
		Urgency:  []face.Term{{ID: "routine", Label: "Routine"}, {ID: "same day", Label: "The same day"}},
	}
}

func exampleAttempt() face.Attempt {
	return face.Attempt{
		ID: "v1", Patient: examplePatient(), Track: "veterinary", State: "open", Clock: 95, Started: exampleTime, Last: 4,
		Acts: []face.Act{
			{N: 1, Kind: "examine", Step: "distance.observe", Clock: 20, Percepts: []face.Percept{{Field: "mentation", Sense: "words", Words: "She looks round when the door opens"}}},
			{N: 2, Kind: "examine", Step: "heart.auscultate", Site: "left apex", Clock: 35, Percepts: []face.Percept{{Field: "heart.rate", Sense: "sound", Words: "Heart sound, left apex", Sound: true}}},
			{N: 3, Kind: "record", Field: "heart.rate", Value: "104", Over: 15, Interpretation: "normal", Clock: 50},
			{N: 4, Kind: "record", Region: "heart", Value: "normal", Clock: 50},
			{N: 5, Kind: "ask", Topic: "appetite", Answer: "As always.", Clock: 60},
			{N: 6, Kind: "handle", How: "reassure", Clock: 80},
			{N: 7, Kind: "conclude", Problems: []string{"osteoarthritis"}, Urgency: "routine", Clock: 95},
		},
		Sheet:    []face.Line{{Place: face.Place{Field: "heart.rate"}, Value: "104", Over: 15, Interpretation: "normal", Act: 3}},
		Examined: []face.Place{{Field: "heart.murmur"}},
	}
}

func exampleRoom() *roomPage { return roomPageOf(exampleAttempt(), exampleCatalogue()) }

func exampleFinish() *finishPage {
	f := finishForm{Retry: "retry", Problems: []string{"osteoarthritis"}, Urgency: "routine", Fields: []string{"heart.rate"}, Texts: map[string]string{"situation": "Stiff after rest."}}
	p := finishPageOf(exampleAttempt(), exampleCatalogue(), f)
	p.Wrong = []string{"Choose how urgent it is."}
	return p
}

func examplePeople() *peoplePage {
	return &peoplePage{
		Base: Base{Title: "People"}, People: []accountRow{{Person: examplePerson("student"), Known: true, Sounds: "as a trace", Checked: "25 Nov 2026, 09:30", Change: "/people?of=person#sounds"}}, Manage: true, Roles: []string{"student", "instructor"},
		Role: "student", Link: "https://school.example/join?token=t", Code: "ABCD EFGH", Until: "2 Dec 2026, 09:30", Invited: "Kim Example", Wrong: "This login is taken.",
		Find: "kim", Pager: pager{Page: 2, Pages: 3, Prev: 1, Next: 3, Total: 120}, One: &accountView{Person: examplePerson("student"), Reason: "Joins the staff", Wrong: "Say why."},
		Sounds: &soundsForm{ID: "person", Name: "Kim Example", Reason: "Letter of the school", Traced: true, Wrong: "Say by whose decision.",
			Log: []grantRow{{At: "25 Nov 2026, 09:30", By: "Robin Example", Was: "heard only", Became: "as a trace", Reason: "Letter of the school"}}},
	}
}

func exampleDebrief() *debriefPage {
	r := face.Report{
		Attempt: "v1", Patient: examplePatient(), Title: "Slow on the stairs", Track: "veterinary", Started: exampleTime, Clock: 95,
		Rubric: "Veterinary, whole examination", Engine: "1", Total: 81500, Max: 100000, PassMark: 70000, Pass: true,
		Held: []face.Reason{{Code: "charted-not-examined", Text: "Three lines were charted without being examined."}},
		Domains: []face.Domain{
			{ID: "order", Label: "Order", Points: 9000, Max: 10000, Lines: []face.Mark{{ID: "order/route", Label: "Route", Points: 3000, Max: 4000, Reason: "One step stands out of place.", Acts: []int{2}}}},
			{ID: "handling", Label: "Handling", Points: 7500, Max: 10000, Lines: []face.Mark{{ID: "handling/hazard", Label: "Hazard", Points: -2500, Reason: "The painful hip was moved without warning.", Acts: []int{2}}}},
		},
		Walk: face.Walk{Nearest: "nose-to-tail", Steps: []face.Walked{
			{Step: "heart.auscultate", Label: "Auscultate the heart", Stage: "chest", Act: 2},
			{Step: "distance.observe", Label: "Observe from a distance", Stage: "distance", Act: 1, Move: true},
		}},
		Vitals: []face.Vital{{Field: "heart.rate", Label: "Heart rate", Measured: true, Charted: "104 /min", Interpretation: "normal", Actual: "108 /min", Reading: "normal",
			Tolerance: "5.4 /min", Low: "70 /min", High: "120 /min", GreyLow: "60 /min", GreyHigh: "140 /min", Row: "dog.medium.heart_rate", Of: "medium dog (over 16 weeks)", Own: true, Source: "reference table", Confidence: "read in the source"}},
		Findings: []face.Finding{{Place: face.Place{Field: "stifle.effusion", Site: "right"}, Label: "Stifle, fluid", Actual: "moderate", How: "unseen", Steps: []string{"Palpate the stifle"}, Acts: []int{2}}},
		Hazards:  []face.Event{{ID: "h", Severity: "major", Why: "The painful hip was moved without warning.", Act: 2, Sign: 1}},
		Closing:  face.Closing{Named: []string{"Osteoarthritis"}, Urgency: "routine", Expected: []string{"Osteoarthritis"}, Accepted: []string{"Overweight"}, ExpectedUrgency: "routine"},
		Teaching: "Stiffness that wears off points to joints.",
		Caution:  "Dewclaw teaches; it does not advise on a real patient.",
	}
	p := debriefPageOf(r, exampleAttempt(), exampleCatalogue(), time.UTC)
	p.Plan = planToldOf(face.Plans{Checked: &face.Plan{ID: "a", Sentence: "A plan."}, Offered: []face.Plan{{ID: "a", Sentence: "A plan."}}, Chosen: "a", Stands: "Another."})
	return p
}
