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
	Now      time.Time `json:"now"`               // by the server's clock
	Minutes  int       `json:"minutes,omitempty"` // of the whole, with one's own extra time; 0: until it closes
	Extra    int       `json:"extra,omitempty"`   // percent of one's own in Minutes
	Later    int       `json:"later,omitempty"`   // minutes of one's own in Closes, besides
	Pauses   int       `json:"pauses,omitempty"`  // minutes of own pauses
	Cue      string    `json:"cue,omitempty"`     // what the sheet shows: full, headings or none
	Places   string    `json:"places,omitempty"`  // labelled or unlabelled
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

// Clock is how one's own turn stands by the server's clock.
type Clock struct {
	Turn     string    `json:"turn"`
	Phase    string    `json:"phase"` // running, paused or over
	Ends     time.Time `json:"ends"`
	Left     int       `json:"left_ms"`            // thousandths of a second
	Here     bool      `json:"here"`               // this browser is the one in the room
	Own      bool      `json:"own,omitempty"`      // paused by oneself
	Pausable int       `json:"pausable,omitempty"` // seconds of own pauses that are left
	ByTime   bool      `json:"by_time,omitempty"`  // over because the time ended
	Visit    string    `json:"visit,omitempty"`    // the patient who is open
	Done     int       `json:"done"`
	Patients int       `json:"patients"`
}

// Seats is the seating sheet of a sitting, for those who watch over it.
type Seats struct {
	Now   time.Time `json:"now"`
	Seats []Seat    `json:"seats"`
}

// Seat is one student of a sitting as an invigilator sees it: nothing of what
// was found or charted.
type Seat struct {
	Person    string     `json:"person"`
	Name      string     `json:"name"`
	Number    string     `json:"number,omitempty"`
	Turn      string     `json:"turn,omitempty"` // the last try
	Try       int        `json:"try,omitempty"`
	Phase     string     `json:"phase"` // early, open, missed, running, paused or over
	Own       bool       `json:"own,omitempty"`
	ByTime    bool       `json:"by_time,omitempty"`
	Begun     *time.Time `json:"begun,omitempty"`
	Ends      *time.Time `json:"ends,omitempty"`
	Left      int        `json:"left"`                 // seconds
	Patient   int        `json:"patient"`              // the one who is open, from 1; 0: none
	Done      int        `json:"done"`                 // patients handed in
	Patients  int        `json:"patients"`             // of so many
	Acts      int        `json:"acts"`                 // of the last patient
	Ago       *int       `json:"ago,omitempty"`        // seconds since the last act
	Connected bool       `json:"connected"`            // seen a moment ago
	Unseen    *int       `json:"unseen,omitempty"`     // seconds since the browser was last seen
	Extra     int        `json:"extra,omitempty"`      // percent of one's own
	Later     int        `json:"later,omitempty"`      // minutes that the window is longer
	Pauses    int        `json:"pauses,omitempty"`     // minutes of own pauses
	PauseLeft int        `json:"pause_left,omitempty"` // seconds of them that are left
}

// TurnVisit is one patient of a turn.
type TurnVisit struct {
	Attempt string `json:"attempt"`
	Patient string `json:"patient"` // its name
	State   string `json:"state"`   // open, grading or graded
}
