package face

import "time"

// DrillKind is a kind of drill that can be begun.
type DrillKind struct {
	ID      string     `json:"id"`
	Label   string     `json:"label"`
	Hint    string     `json:"hint"`
	Items   int        `json:"items"`   // that are marked
	Seconds int        `json:"seconds"` // that it takes, about
	Species []string   `json:"species"` // in which there is one
	Last    *time.Time `json:"last,omitempty"`
}

// Drill is one's own run through a few items. No figure of it counts for a mark.
type Drill struct {
	ID      string      `json:"id"`
	Kind    string      `json:"kind"`
	Label   string      `json:"label"`
	Species string      `json:"species,omitempty"`
	Started time.Time   `json:"started"`
	Ended   *time.Time  `json:"ended,omitempty"`
	Here    bool        `json:"here"` // this session has it; another takes it over
	Of      int         `json:"of"`   // items that are to be marked
	Marked  int         `json:"marked"`
	Right   int         `json:"right"`
	Void    int         `json:"void"` // that never count
	Items   []DrillItem `json:"items"`
}

// DrillRow is a drill in a list.
type DrillRow struct {
	ID      string     `json:"id"`
	Kind    string     `json:"kind"`
	Label   string     `json:"label"`
	Species string     `json:"species,omitempty"`
	Started time.Time  `json:"started"`
	Ended   *time.Time `json:"ended,omitempty"`
}

// DrillItem is one item. Ask is of the newest one, Told of one that was answered.
type DrillItem struct {
	N     int       `json:"n"`
	State string    `json:"state"` // asked, marked or void
	Why   string    `json:"why,omitempty"`
	Ask   *DrillAsk `json:"ask,omitempty"`
	Told  *ItemTold `json:"told,omitempty"`
}

// DrillAsk is what an item asks, and what can be answered.
type DrillAsk struct {
	Words      string      `json:"words"`
	Signalment string      `json:"signalment,omitempty"`
	Place      string      `json:"place,omitempty"` // what is done where
	Sense      string      `json:"sense"`           // sound, picture or words: what every clip is
	Clips      []DrillClip `json:"clips"`
	Choices    []Choice    `json:"choices,omitempty"`
	Unit       string      `json:"unit,omitempty"`
	Range      bool        `json:"range,omitempty"`   // low and high of the reference range come first
	Count      bool        `json:"count,omitempty"`   // the value is a rate a minute
	Seconds    int         `json:"seconds,omitempty"` // how long one listens or looks
}

// DrillClip is one thing that is heard or seen: at items/{n}/sound?which= or
// items/{n}/picture?which=.
type DrillClip struct {
	Which int    `json:"which"`
	Label string `json:"label,omitempty"`
	Words string `json:"words,omitempty"`
}

// ItemTold is what came of an answer.
type ItemTold struct {
	Asked  string `json:"asked"`
	Said   string `json:"said"`
	Actual string `json:"actual"`
	Reason string `json:"reason,omitempty"`
	Right  bool   `json:"right"`
	Mark   int    `json:"mark"` // thousandths
	Sure   int    `json:"sure,omitempty"`
}
