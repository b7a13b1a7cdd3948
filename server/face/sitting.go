package face

import "time"

// Cohort is a year, a group, a class as its people see it.
type Cohort struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	Role     string `json:"role,omitempty"` // one's own in it: student or instructor
	Archived bool   `json:"archived,omitempty"`
}

// Assignment is what a cohort is to do, as a student sees it: neither which
// patients nor how they are drawn.
type Assignment struct {
	ID       string    `json:"id"`
	Cohort   Cohort    `json:"cohort"`
	Title    string    `json:"title"`
	Kind     string    `json:"kind"` // practice or sitting
	Track    string    `json:"track"`
	Opens    time.Time `json:"opens"`
	Closes   time.Time `json:"closes"`            // with one's own extra time
	Minutes  int       `json:"minutes,omitempty"` // of the whole, with one's own extra time; 0: until it closes
	Pauses   int       `json:"pauses,omitempty"`  // minutes of own pauses
	Patients int       `json:"patients"`          // how many
	Tries    int       `json:"tries,omitempty"`   // how often; 0: any number
	Phase    string    `json:"phase"`             // early, open, missed, running, paused or over
	Turns    []Turn    `json:"turns"`             // one's own, the first try first
}

// Turn is one's own turn at an assignment.
type Turn struct {
	ID       string      `json:"id"`
	Try      int         `json:"try"`
	Phase    string      `json:"phase"` // running, paused or over
	Ends     time.Time   `json:"ends"`
	Left     int         `json:"left"`               // seconds
	Here     bool        `json:"here"`               // this browser is the one in the room
	Next     bool        `json:"next"`               // another patient can be begun
	Done     int         `json:"done"`               // patients finished
	Patients int         `json:"patients"`           // of so many
	Visits   []TurnVisit `json:"visits"`             // those begun
	Excused  bool        `json:"excused,omitempty"`  // does not count
	Pausable int         `json:"pausable,omitempty"` // seconds of own pauses that are left
	ByTime   bool        `json:"by_time,omitempty"`  // over because the time ended
	Released bool        `json:"released,omitempty"` // the debriefs can be read
}

// TurnVisit is one patient of a turn.
type TurnVisit struct {
	Attempt string `json:"attempt"`
	Patient string `json:"patient"` // its name
	State   string `json:"state"`   // open, grading or graded
}
