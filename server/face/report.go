package face

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Points are thousandths of a point of 100. In JSON and on screen they are
// decimal numbers without trailing zeros.
type Points int64

// String writes points as a decimal number: 87.25, 10, -0.3.
func (p Points) String() string {
	return string(p.append(nil))
}

// MarshalJSON writes points as a JSON number.
func (p Points) MarshalJSON() ([]byte, error) { return p.append(nil), nil }

// UnmarshalJSON reads what MarshalJSON writes: a number with at most three decimals.
func (p *Points) UnmarshalJSON(b []byte) error {
	whole, rest, _ := strings.Cut(strings.TrimPrefix(string(b), "-"), ".")
	if len(rest) > 3 {
		return fmt.Errorf("points %s: more than three decimals", b)
	}
	n, err := strconv.ParseUint(whole+(rest + "000")[:3], 10, 63)
	if err != nil {
		return fmt.Errorf("points %s: not a plain decimal number", b)
	}
	*p = Points(n)
	if b[0] == '-' {
		*p = -*p
	}
	return nil
}

func (p Points) append(b []byte) []byte {
	if p < 0 {
		b, p = append(b, '-'), -p
	}
	b = strconv.AppendInt(b, int64(p/1000), 10)
	rest := int64(p % 1000)
	if rest == 0 {
		return b
	}
	digits := strconv.Itoa(int(rest + 1000))[1:]
	for digits[len(digits)-1] == '0' {
		digits = digits[:len(digits)-1]
	}
	return append(append(b, '.'), digits...)
}

// Report is the debrief of one graded attempt. Text that is for people stands
// beside the ids that programs need.
type Report struct {
	Attempt   string    `json:"attempt"`
	Patient   Patient   `json:"patient"`
	Title     string    `json:"title,omitempty"` // the case's own title, for staff only: students may meet the patient again
	Person    *Person   `json:"person,omitempty"`
	Track     string    `json:"track"`
	Started   time.Time `json:"started"`
	Ended     string    `json:"ended,omitempty"` // why the visit ended: arrest, concluded; empty: the student left
	Clock     int       `json:"clock"`           // simulated seconds that the visit took
	Rubric    string    `json:"rubric"`          // title of the marking scheme
	Engine    string    `json:"engine"`
	Total     Points    `json:"total"`              // with what people decided
	Computed  *Points   `json:"computed,omitempty"` // what the engine gave, where that is another total
	Max       Points    `json:"max"`
	PassMark  Points    `json:"pass_mark"`
	Pass      bool      `json:"pass"`
	Critical  []Event   `json:"critical"`
	Held      []Reason  `json:"held"` // why a person should look before this result counts
	Decided   []Decided `json:"decided,omitempty"`
	Struck    []Struck  `json:"struck,omitempty"`  // what is marked otherwise for everybody
	MayAsk    bool      `json:"may_ask,omitempty"` // its student may ask for a person to look at a line again
	Domains   []Domain  `json:"domains"`
	Walk      Walk      `json:"walk"`
	Vitals    []Vital   `json:"vitals"`
	Findings  []Finding `json:"findings"`
	Detection Detection `json:"detection"`
	Hazards   []Event   `json:"hazards"` // every hazard met, critical ones too, in order
	Closing   Closing   `json:"conclusion"`
	Teaching  string    `json:"teaching"`
	Traced    bool      `json:"traced,omitempty"`    // sounds were given as a trace besides
	Described bool      `json:"described,omitempty"` // sounds were given in words besides
	Sounds    string    `json:"sounds,omitempty"`    // the same as a sentence, with what it means for the marks
	Review    string    `json:"review,omitempty"`    // how far the review of this patient's medicine has come
	Caution   string    `json:"caution"`
	Sure      []Sure    `json:"sure,omitempty"`     // to who made the visit: the lines of which they said how sure they were
	Forecast  *Forecast `json:"forecast,omitempty"` // to who made the visit: what they expected before it was told
}

// Sure is a charted line with how sure the student was of it. It carries no points.
type Sure struct {
	Place
	Label   string `json:"label"`
	Charted string `json:"charted"` // in words
	Actual  string `json:"actual"`  // in words
	Sure    string `json:"sure"`    // guess, fairly or sure
	Right   bool   `json:"right"`
	Act     int    `json:"act"` // the act that wrote the line
}

// Forecast is what a student expects of an own practice visit before the debrief
// opens: of each domain the percent of its points, and the line least sure of.
// Without percents it was passed over.
type Forecast struct {
	Said    bool           `json:"said"`    // or passed over
	Percent map[string]int `json:"percent"` // by domain, 0 to 100
	Least   *Place         `json:"least,omitempty"`
}

// Detection counts how abnormal was told from normal, over what was examined.
// Vital signs are left out. It is for display; no mark rests on it.
type Detection struct {
	Hits        int `json:"hits"`         // abnormal findings charted as abnormal
	Misses      int `json:"misses"`       // abnormal findings called normal or left blank
	FalseAlarms int `json:"false_alarms"` // normal places charted as abnormal
	TrueNormals int `json:"true_normals"` // normal places charted as normal
}

// Closing is what the student concluded beside what was expected, in words.
type Closing struct {
	Named           []string `json:"named"`
	Urgency         string   `json:"urgency"`
	Expected        []string `json:"expected"`
	Accepted        []string `json:"accepted"` // named or not, neither helps nor hurts
	ExpectedUrgency string   `json:"expected_urgency"`
}

// Reason is a code with its sentence.
type Reason struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// Event is a hazard that was met.
type Event struct {
	ID       string `json:"id"`
	Severity string `json:"severity"`
	Why      string `json:"why"`
	Act      int    `json:"act,omitempty"`  // the act that met it; 0: not told
	Sign     int    `json:"sign,omitempty"` // the act whose sign foreshadowed it; 0: none
}

// Domain is one of order, completeness, findings, vitals, handling, conclusions.
type Domain struct {
	ID     string `json:"id"`
	Label  string `json:"label"`
	Points Points `json:"points"`
	Max    Points `json:"max"`
	Lines  []Mark `json:"lines"`
}

// Mark is one mark with its reason. Max 0 means a scaling, a cap, a deduction
// or plain feedback.
type Mark struct {
	Computed *Points `json:"computed,omitempty"` // what the engine gave, where a person's mark stands in its place
	Because  string  `json:"because,omitempty"`  // why
	Asked    *Asked  `json:"asked,omitempty"`

	ID     string `json:"id"`
	Label  string `json:"label"` // the step, field or rule in words
	Points Points `json:"points"`
	Max    Points `json:"max"`
	Code   string `json:"code"`
	Reason string `json:"reason"`
	Acts   []int  `json:"acts"`
	Beyond bool   `json:"beyond,omitempty"` // the time ended before one came to it
}

// Walk is the route walked beside the nearest accepted one.
type Walk struct {
	Order   []string `json:"-"`       // stages in the order of the nearest route; for the drawing
	Nearest string   `json:"nearest"` // id of the route; empty: too few steps to say
	Steps   []Walked `json:"steps"`
}

// Walked is one step of the route; Move: this one would have to move.
type Walked struct {
	Step  string `json:"step"`
	Label string `json:"label"`
	Stage string `json:"stage"`
	Act   int    `json:"act"`
	Move  bool   `json:"move"`
}

// Vital is a vital as read beside what was there. Quantities are decimal text
// with their unit; an empty one is not known or does not apply.
type Vital struct {
	Beyond         bool   `json:"beyond,omitempty"` // the time ended before one came to it
	Field          string `json:"field"`
	Label          string `json:"label"`
	Measured       bool   `json:"measured"`
	Charted        string `json:"charted"` // as written; empty: not charted
	Interpretation string `json:"interpretation"`
	Actual         string `json:"actual"`
	Reading        string `json:"reading"` // low, normal, high or borderline: what the actual value is
	Tolerance      string `json:"tolerance"`
	Low            string `json:"low"` // reference range
	High           string `json:"high"`
	GreyLow        string `json:"grey_low"`
	GreyHigh       string `json:"grey_high"`
	Row            string `json:"row"`        // id of the row of reference ranges that judged it; empty: none did
	Of             string `json:"of"`         // which animals that row is for
	Own            bool   `json:"own"`        // it is the school's own
	Source         string `json:"source"`     // of the reference range
	Confidence     string `json:"confidence"` // how sure that source is
}

// Finding is an actual finding beside what was charted.
type Finding struct {
	Place
	Label   string   `json:"label"`
	Actual  string   `json:"actual"`
	Charted string   `json:"charted"`
	How     string   `json:"how"`   // caught, partly, normal, blank, unseen, refused, unreached
	Steps   []string `json:"steps"` // labels of the steps that would find it
	Acts    []int    `json:"acts"`
}
