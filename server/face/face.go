// Package face holds what a student may see: structs that import neither cases
// nor rubric, so that a truth cannot reach them by accident.
package face

import "time"

// Patient is the public face of a case: an opaque id and what the owner says at the desk.
type Patient struct {
	ID         string `json:"id"` // opaque
	Species    string `json:"species"`
	Name       string `json:"name"`
	Breed      string `json:"breed"`
	Sex        string `json:"sex"`
	Age        string `json:"age"`
	Presenting string `json:"presenting"`
	Demeanour  string `json:"-"` // seen in the animal only
}

// Attempt is the public state of an attempt.
type Attempt struct {
	ID       string    `json:"id"`
	Patient  Patient   `json:"patient"`
	Track    string    `json:"track"`
	State    string    `json:"state"` // open, grading, graded
	Clock    int       `json:"clock"` // simulated seconds
	Started  time.Time `json:"started"`
	Last     int       `json:"last"` // number of the last act
	Ended    string    `json:"ended,omitempty"`
	Acts     []Act     `json:"acts"`
	Sheet    []Line    `json:"sheet"`
	Examined []Place   `json:"examined"` // places that were examined and not yet charted count as open lines
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
	Topic          string    `json:"topic,omitempty"`
	How            string    `json:"how,omitempty"`
	Answer         string    `json:"answer,omitempty"`
	Refused        bool      `json:"refused,omitempty"`
	Signs          []string  `json:"signs,omitempty"`
	Percepts       []Percept `json:"percepts,omitempty"`
	Clock          int       `json:"clock"`
	Ended          string    `json:"ended,omitempty"`
	At             time.Time `json:"at"`
}

// Percept is one thing sensed.
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
}
