package face

// Expert is somebody skilled examining one patient of a species, to be watched
// act by act. What is sensed is told in words too, also what is heard: nothing
// here belongs to a visit of the reader.
type Expert struct {
	Species string `json:"species"`
	Label   string `json:"label"`
	Patient
	Seconds int           `json:"seconds"` // of the whole examination, by the visit's clock
	Moments []ExpertScene `json:"moments"`
}

// ExpertLine is an expert in a list.
type ExpertLine struct {
	Species string `json:"species"`
	Label   string `json:"label"`
	Patient string `json:"patient"` // its name
	Moments int    `json:"moments"`
	Seconds int    `json:"seconds"`
	Watched string `json:"watched"` // no, begun or whole
}

// ExpertScene is one thing that the expert does, with all its sites.
type ExpertScene struct {
	N      int          `json:"n"`    // from 1
	Kind   string       `json:"kind"` // ask, examine, handle, wait, record or conclude
	Step   string       `json:"step,omitempty"`
	Region string       `json:"region,omitempty"`
	Stage  string       `json:"stage,omitempty"` // its label
	Title  string       `json:"title"`
	Why    string       `json:"why"`
	Source string       `json:"source,omitempty"` // of the reason
	Asks   bool         `json:"asks,omitempty"`   // one may say first what one would do
	Clock  int          `json:"clock"`            // seconds of the visit when it is done
	Signs  []string     `json:"signs,omitempty"`  // what the animal showed
	Beats  []ExpertBeat `json:"beats"`
}

// ExpertBeat is one act of a scene: a site, or a question.
type ExpertBeat struct {
	Act     int             `json:"act"`
	Label   string          `json:"label,omitempty"` // the site, or what was asked
	Seconds int             `json:"seconds,omitempty"`
	Heard   bool            `json:"heard,omitempty"` // acts/{act}/sound
	Seen    bool            `json:"seen,omitempty"`  // acts/{act}/picture
	Words   []string        `json:"words"`           // what was sensed or answered, what matters first
	Lead    int             `json:"lead"`            // of those, how many are worth reading at once
	Charted []ExpertCharted `json:"charted"`
}

// ExpertCharted is a line that the expert wrote.
type ExpertCharted struct {
	Text string `json:"text"`
	Off  bool   `json:"off,omitempty"` // it differs from normal
}

// ExpertAnswer says what became of a guess at the expert's next act.
type ExpertAnswer struct {
	Yours   string `json:"yours"`   // what was proposed, by its label
	Theirs  string `json:"theirs"`  // what the expert does
	Verdict string `json:"verdict"` // same, fits, done or clashes
	Words   string `json:"words"`
}
