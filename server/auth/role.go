package auth

import "slices"

// Role is what a person is in the school.
type Role string

// The roles, from the least to the most.
const (
	Student     Role = "student"
	Instructor  Role = "instructor"
	Coordinator Role = "coordinator"
)

// Roles returns every role, from the least to the most.
func Roles() []Role { return []Role{Student, Instructor, Coordinator} }

// Valid reports whether r is one of Roles.
func (r Role) Valid() bool { return slices.Contains(Roles(), r) }

// Action is something a person can ask the server to do.
type Action string

// The actions. Own and All speak of whose visits; a student's debrief is subject
// to the release rule on top.
const (
	Practise       Action = "practise"        // start and work through a visit of one's own
	SeeOwn         Action = "see-own"         // one's own visits and released debriefs
	SeeAll         Action = "see-all"         // everybody's visits and debriefs
	SeeTruth       Action = "see-truth"       // what is hidden in a case: title, findings, teaching notes
	SeePeople      Action = "see-people"      // names, logins and roles
	ManagePeople   Action = "manage-people"   // invite, change role, reset, erase
	GrantSounds    Action = "grant-sounds"    // sounds as a trace or in words, for somebody else
	ManageSettings Action = "manage-settings" // the school's settings and keys
	SeeMatrix      Action = "see-matrix"      // this table
	SeeRubrics     Action = "see-rubrics"     // the rubrics as they mark, with the files that do not load
	Regrade        Action = "regrade"         // mark visits anew by a newer version, and put the marks back
	ManageCohorts  Action = "manage-cohorts"  // one's own cohorts: their people, accommodations and slips
	SetAssignments Action = "set-assignments" // practice and sittings of one's own cohorts
	Invigilate     Action = "invigilate"      // watch a sitting, give minutes, pause it
	Mark           Action = "mark"            // mark lines by hand, decide what waits, release debriefs, answer reviews
	SeeLog         Action = "see-log"         // who did what, when and why, in one's own cohorts
	ErasePeople    Action = "erase-people"    // erase, hold and put back people
)

// Rule is one row of the matrix.
type Rule struct {
	Action Action
	Label  string // for the page that shows the matrix
	Roles  []Role // who may
}

// matrix is the whole of who may what. An action without a row is nobody's.
var matrix = []Rule{
	{Practise, "Examine a patient for practice", []Role{Student, Instructor, Coordinator}},
	{SeeOwn, "See own visits and their debriefs", []Role{Student, Instructor, Coordinator}},
	{SeeAll, "See the visits and debriefs of the students of one's own cohorts", []Role{Instructor, Coordinator}},
	{SeeTruth, "See what is hidden in a case", []Role{Instructor, Coordinator}},
	{SeePeople, "See the list of people", []Role{Instructor, Coordinator}},
	{ManagePeople, "Invite people, change roles, reset passwords, erase people", []Role{Coordinator}},
	{GrantSounds, "Grant students of one's own cohorts sounds as a trace or in words", []Role{Instructor, Coordinator}},
	{ManageSettings, "Change the school's settings", []Role{Coordinator}},
	{SeeMatrix, "See who may do what", []Role{Instructor, Coordinator}},
	{SeeRubrics, "Read the rubrics and the files that do not load", []Role{Instructor, Coordinator}},
	{Regrade, "Mark visits anew by a newer rubric, and put the marks back", []Role{Instructor, Coordinator}},
	{ManageCohorts, "Make cohorts, enrol people and set accommodations, in one's own cohorts", []Role{Instructor, Coordinator}},
	{SetAssignments, "Set practice and sittings for one's own cohorts", []Role{Instructor, Coordinator}},
	{Invigilate, "Watch a sitting of one's own cohorts, give minutes and pause it", []Role{Instructor, Coordinator}},
	{Mark, "Mark by hand, decide what waits, release debriefs and answer reviews, in one's own cohorts", []Role{Instructor, Coordinator}},
	{SeeLog, "Read who did what, when and why, in one's own cohorts", []Role{Instructor, Coordinator}},
	{ErasePeople, "Erase people, keep them from erasure, and put them back", []Role{Coordinator}},
}

// May reports whether a person of role r may do a. An unknown role or action may not.
func May(r Role, a Action) bool {
	for _, rule := range matrix {
		if rule.Action == a {
			return slices.Contains(rule.Roles, r)
		}
	}
	return false
}

// absent are the actions that look like something that does not exist to who may not.
var absent = []Action{SeeRubrics, Regrade, Mark}

// Absent reports whether a is to look like nothing at all to who may not do it.
func Absent(a Action) bool { return slices.Contains(absent, a) }

// Matrix returns a copy of the who-may-what table, for a page.
func Matrix() []Rule {
	rows := slices.Clone(matrix)
	for i := range rows {
		rows[i].Roles = slices.Clone(rows[i].Roles)
	}
	return rows
}
