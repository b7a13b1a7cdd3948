package rubric

import "errors"

// Kind says what an act is.
type Kind string

// The kinds of act. Rate is reserved for examiners of live stations.
const (
	Examine  Kind = "examine"
	Lift     Kind = "lift"
	Record   Kind = "record"
	Ask      Kind = "ask"
	Handle   Kind = "handle"
	Wait     Kind = "wait"
	Hint     Kind = "hint"
	Conclude Kind = "conclude"
	Rate     Kind = "rate"
)

// Act is one thing that the student does, as it travels and as it is stored.
// Which members count depends on Kind; the others stay empty.
type Act struct {
	N    int  `json:"n"`
	Kind Kind `json:"kind"`

	Step    string `json:"step,omitempty"`    // examine
	Site    string `json:"site,omitempty"`    // examine, record
	Seconds int    `json:"seconds,omitempty"` // examine, lift, wait: whole seconds
	Manner  string `json:"manner,omitempty"`  // examine: "", gentle or firm
	Of      int    `json:"of,omitempty"`      // lift: the number of the examine act that ends; record: see Act.States
	Held    int    `json:"held,omitempty"`    // any act: seconds for which an open contact lasted by the server's clock; set by the server only

	Field          string `json:"field,omitempty"`          // record
	Region         string `json:"region,omitempty"`         // record: the rest of this region, value "normal"
	Value          string `json:"value,omitempty"`          // record; empty withdraws; NotExamined needs a reason
	Over           int    `json:"over,omitempty"`           // record: seconds over which a rate was counted
	Interpretation string `json:"interpretation,omitempty"` // record of a vital: low, normal or high
	Reason         string `json:"reason,omitempty"`         // record of NotExamined; conclude too early
	Sure           string `json:"sure,omitempty"`           // record of a value: how sure one is, one of Sures; empty: not said. Never marked

	Topic string `json:"topic,omitempty"` // ask
	How   string `json:"how,omitempty"`   // handle

	Problems []string  `json:"problems,omitempty"` // conclude: ids of the catalogue's problems
	Urgency  string    `json:"urgency,omitempty"`  // conclude: routine, same day or emergency
	Report   *Handover `json:"report,omitempty"`   // conclude: the report to the veterinarian

	Scale string `json:"scale,omitempty"` // rate
	By    string `json:"by,omitempty"`    // rate: the examiner
}

// How sure a student is of a line: about 50, 75 and 95 of 100.
const (
	Guess  = "guess"
	Fairly = "fairly"
	Sure   = "sure"
)

// Sures are the values of Act.Sure, from the least to the most.
func Sures() []string { return []string{Guess, Fairly, Sure} }

// States reports whether the act only says how sure one is of a line that stands:
// a record that names the act which wrote the line as Of. It repeats the line's
// value and writes nothing, whatever was examined meanwhile.
func (a *Act) States() bool { return a.Kind == Record && a.Of > 0 && a.Sure != "" }

// NotExamined is the value of an honest gap on the sheet.
const NotExamined = "not examined"

// Handover is the report to the veterinarian: situation, background,
// assessment and request in the student's words, and the fields given.
type Handover struct {
	Situation  string  `json:"situation,omitempty"`
	Background string  `json:"background,omitempty"`
	Assessment string  `json:"assessment,omitempty"`
	Request    string  `json:"request,omitempty"`
	Fields     []Given `json:"fields,omitempty"`
}

// Given is one finding as reported: field, side or site, value.
type Given struct {
	Field string `json:"field"`
	Site  string `json:"site,omitempty"`
	Value string `json:"value"`
}

// Outcome is what an act did: what the student senses and, hidden, what was
// there. It is written once, when the act is applied, and never recomputed
// for a grade. Encode it with EncodeOutcome; json.Marshal refuses it.
type Outcome struct {
	Clock    int       `json:"clock"`              // simulated seconds since the start, after the act
	Closed   *Contact  `json:"closed,omitempty"`   // the contact that this act ended
	Refused  bool      `json:"refused,omitempty"`  // the animal did not allow it; nothing was sensed
	Percepts []Percept `json:"percepts,omitempty"` // what the student senses
	Signs    []string  `json:"signs,omitempty"`    // what the animal shows meanwhile, in words
	Answer   string    `json:"answer,omitempty"`   // the owner's answer to a question
	Shown    []Shown   `json:"shown,omitempty"`    // hidden: the truth of every field this act could reveal
	Events   []Event   `json:"events,omitempty"`   // hidden: hazards met
	Ended    string    `json:"ended,omitempty"`    // why the visit ends with this act: "arrest", "concluded"; empty: it goes on
	State    []byte    `json:"state,omitempty"`    // hidden: the patient's private state after the act
}

// Contact is a contact that ended: the examine act that opened it and how many
// seconds it lasted beyond those given in that act, which count at once. Reading
// is what a slow instrument showed as it was taken away: value and unit.
type Contact struct {
	Of      int    `json:"of"`
	Seconds int    `json:"seconds"`
	Reading string `json:"reading,omitempty"`
}

// Percept is one thing sensed, never a diagnosis and never a number that has
// to be counted.
type Percept struct {
	Field string `json:"field"`
	Site  string `json:"site,omitempty"`
	Sense string `json:"sense"`           // words, sound, picture, reading, or rising: a reading that comes as the contact ends
	Words string `json:"words,omitempty"` // of a count or a time: what the clip is, not what is in it
}

// Shown is the truth of one field at one site at the moment it was examined.
// Numbers are decimal text in the field's unit.
type Shown struct {
	Field string `json:"field"`
	Site  string `json:"site,omitempty"`
	Value string `json:"value"`
}

// Event is a hazard met while handling the patient.
type Event struct {
	ID       string `json:"id"`       // the case's or the catalogue's hazard id
	Severity string `json:"severity"` // minor, major or critical
	Why      string `json:"why"`      // a sentence for the debrief
	Sign     int    `json:"sign"`     // the number of the act whose sign foreshadowed it; 0: none
}

// Entry is an act with its outcome.
type Entry struct {
	Act     Act
	Outcome Outcome
}

// Played reports whether the entry carries the outcome of its act.
func (e Entry) Played() bool {
	return e.Outcome.Clock > 0 || len(e.Outcome.State) > 0 || len(e.Outcome.Shown) > 0
}

// Transcript is the append-only list of acts of one attempt, in order, N from 1.
type Transcript []Entry

// ErrHidden is returned when something hidden is about to be written where a
// student might read it.
var ErrHidden = errors.New("hidden from students")
