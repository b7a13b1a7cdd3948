// Package face holds what a student may see: structs that import neither cases
// nor rubric, so that a truth cannot reach them by accident. The API writes them
// as JSON and the pages show them; nothing else travels to a student.
//
// Ids are the catalogue's and are stored; labels are looked up in Catalogue.
// Until an attempt is graded nothing here says what is right: Patient, Attempt,
// Act, Line and Sweep hold what was sensed and what the student wrote. Report
// and Finding hold what was there and leave only once the attempt is graded.
package face

import "time"

// Person is somebody with an account.
type Person struct {
	ID    string `json:"id"` // random, tells nothing
	Login string `json:"login"`
	Name  string `json:"name"`
	Role  string `json:"role"` // student, instructor or coordinator
}

// Account is a person as who may see the list of people sees them. How sounds
// are given to them besides being heard, and when they last passed a sound
// check, is told of those only whose visits the reader may see.
type Account struct {
	Person
	InReach    bool       `json:"-"` // the rest is told
	Traced     bool       `json:"traced"`
	Described  bool       `json:"described"`
	SoundCheck *time.Time `json:"sound_check,omitempty"`
}

// Patient is the public face of a case: an opaque id and what the owner says at the desk.
type Patient struct {
	ID         string `json:"id"` // opaque: an HMAC of the case's id, the same for everybody of one school
	Species    string `json:"species"`
	Name       string `json:"name"`
	Breed      string `json:"breed"`
	Sex        string `json:"sex"`
	Age        string `json:"age"`
	Presenting string `json:"presenting"`
	Dry        bool   `json:"-"` // drawn without an udder, for it is young or male
}

// Attempt is the public state of an attempt.
type Attempt struct {
	ID       string    `json:"id"`
	Patient  Patient   `json:"patient"`
	Track    string    `json:"track"` // veterinary or technician
	State    string    `json:"state"` // open, grading, graded
	Clock    int       `json:"clock"` // simulated seconds
	Started  time.Time `json:"started"`
	Last     int       `json:"last"`    // number of the last act
	Contact  int       `json:"contact"` // number of the examine act whose contact is open; 0: none
	Ended    string    `json:"ended,omitempty"`
	Acts     []Act     `json:"acts"`
	Sheet    []Line    `json:"sheet"`
	Examined []Place   `json:"examined"` // places examined and not yet charted: open lines
	Absent   []string  `json:"absent"`   // steps of the catalogue that this patient's sex or age rules out

	Traced    bool `json:"traced,omitempty"`    // sounds may be seen as a trace
	Described bool `json:"described,omitempty"` // sounds are given in words

	Turn    string   `json:"turn,omitempty"`    // the turn at an assignment that it belongs to
	Purpose string   `json:"purpose,omitempty"` // sitting or orientation; empty: practice
	Cue     string   `json:"cue,omitempty"`     // what the sheet shows before one writes: full (also empty), headings or none
	Places  string   `json:"places,omitempty"`  // whether the places of the chest are named: labelled (also empty) or unlabelled
	Used    []string `json:"used,omitempty"`    // of an orientation: the kinds of act that were used

	AsksSure bool `json:"asks_sure,omitempty"` // one is asked how sure one is of a line
}

// Act is an act with what the student sensed.
type Act struct {
	N              int       `json:"n"`
	Kind           string    `json:"kind"`
	Step           string    `json:"step,omitempty"`
	Site           string    `json:"site,omitempty"`
	Manner         string    `json:"manner,omitempty"`
	Seconds        int       `json:"seconds,omitempty"`
	Of             int       `json:"of,omitempty"`
	Field          string    `json:"field,omitempty"`
	Region         string    `json:"region,omitempty"`
	Value          string    `json:"value,omitempty"`
	Over           int       `json:"over,omitempty"`
	Interpretation string    `json:"interpretation,omitempty"`
	Reason         string    `json:"reason,omitempty"`
	Sure           string    `json:"sure,omitempty"` // guess, fairly or sure
	Topic          string    `json:"topic,omitempty"`
	How            string    `json:"how,omitempty"`
	Problems       []string  `json:"problems,omitempty"`
	Urgency        string    `json:"urgency,omitempty"`
	Report         *Handover `json:"report,omitempty"`
	Answer         string    `json:"answer,omitempty"` // the owner's words
	Refused        bool      `json:"refused,omitempty"`
	Signs          []string  `json:"signs,omitempty"`
	Heard          bool      `json:"heard,omitempty"` // .../acts/{n}/sound has what is heard, whether or not a percept is a sound
	Seen           bool      `json:"seen,omitempty"`  // .../acts/{n}/picture has what is seen
	Read           *Reading  `json:"read,omitempty"`  // what a slow instrument showed as this act ended its contact
	Percepts       []Percept `json:"percepts,omitempty"`
	Clock          int       `json:"clock"`
	Ended          string    `json:"ended,omitempty"`
	At             time.Time `json:"at"`
}

// Handover is the report to the veterinarian as the student wrote it.
type Handover struct {
	Situation  string  `json:"situation,omitempty"`
	Background string  `json:"background,omitempty"`
	Assessment string  `json:"assessment,omitempty"`
	Request    string  `json:"request,omitempty"`
	Fields     []Given `json:"fields,omitempty"`
}

// Given is one finding of a handover.
type Given struct {
	Field string `json:"field"`
	Site  string `json:"site,omitempty"`
	Value string `json:"value"`
}

// Reading is what an instrument showed that was taken away: the contact was opened
// by act Of, whose percept of this field was rising.
type Reading struct {
	Of    int    `json:"of"`
	Field string `json:"field"`
	Site  string `json:"site,omitempty"`
	Words string `json:"words"`
}

// Percept is one thing sensed. Sense is words, sound, picture, reading, or rising:
// a reading that comes as the contact ends. The words of a sound are given only
// where it is described to this student; those of a picture say the same as it.
type Percept struct {
	Field   string `json:"field"`
	Site    string `json:"site,omitempty"`
	Sense   string `json:"sense"`
	Words   string `json:"words,omitempty"`
	Sound   bool   `json:"sound,omitempty"`   // acts/{n}/sound has a clip
	Picture bool   `json:"picture,omitempty"` // acts/{n}/picture has a picture
}

// Place is a field at a site.
type Place struct {
	Field string `json:"field"`
	Site  string `json:"site,omitempty"`
}

// Line is one line of the examination sheet as it stands.
type Line struct {
	Place
	Value          string `json:"value"`
	Over           int    `json:"over,omitempty"`
	Interpretation string `json:"interpretation,omitempty"`
	Reason         string `json:"reason,omitempty"`
	Act            int    `json:"act"`
	Swept          bool   `json:"swept,omitempty"` // stated by 'rest of this region normal'
	Sure           string `json:"sure,omitempty"`  // guess, fairly or sure; empty: not said
}

// Answer is what one act brought.
type Answer struct {
	Act      Act     `json:"act"`
	Last     int     `json:"last"`
	Contact  int     `json:"contact"` // number of the examine act whose contact is open; 0: none
	Clock    int     `json:"clock"`
	Ended    string  `json:"ended,omitempty"`
	Sheet    []Line  `json:"sheet,omitempty"`    // after a record: the whole sheet
	Examined []Place `json:"examined,omitempty"` // places examined and not yet charted

	Used []string `json:"used,omitempty"` // of an orientation: the kinds of act that were used
}

// Sweep is what 'rest of this region normal' would write, shown before it is written.
type Sweep struct {
	Region     string  `json:"region"`
	States     []Place `json:"states"`     // would be charted normal
	Unexamined []Place `json:"unexamined"` // left blank: not examined yet
	Each       []Place `json:"each"`       // to be described line by line
}

// StaffCase is a case as instructors and coordinators see it.
type StaffCase struct {
	Patient
	Case       string              `json:"case"` // the file's case id
	Title      string              `json:"title"`
	Situation  string              `json:"situation"`
	Demeanour  string              `json:"demeanour"`
	Difficulty int                 `json:"difficulty"`
	Use        string              `json:"use"`
	Tags       map[string][]string `json:"tags,omitempty"`
	Teaching   string              `json:"teaching,omitempty"`
	Media      []string            `json:"media,omitempty"`  // the school's own recordings and pictures, with their licence
	Review     string              `json:"review,omitempty"` // how far the review of this patient's medicine has come
}

// Broken is a case file that did not load.
type Broken struct {
	File     string    `json:"file"`
	Problems []Problem `json:"problems"`
}

// Problem is one thing wrong in a case file.
type Problem struct {
	Line    int    `json:"line"`
	Col     int    `json:"col"`
	Message string `json:"message"`
}

// Visit is one attempt in a list.
type Visit struct {
	ID        string     `json:"id"`
	Patient   Patient    `json:"patient"`
	Title     string     `json:"title,omitempty"` // for staff, and for the student once graded
	Person    *Person    `json:"person,omitempty"`
	Track     string     `json:"track"`
	State     string     `json:"state"`
	Started   time.Time  `json:"started"`
	Finished  *time.Time `json:"finished,omitempty"`
	Traced    bool       `json:"traced,omitempty"`
	Described bool       `json:"described,omitempty"`
	Total     *Points    `json:"total,omitempty"` // once graded
	Pass      *bool      `json:"pass,omitempty"`
	Turn      string     `json:"turn,omitempty"`
	Purpose   string     `json:"purpose,omitempty"` // sitting or orientation; empty: practice
	Kept      bool       `json:"kept,omitempty"`    // practice with a patient that is kept for a sitting: closed until its debriefs are released
}
