package cases

import (
	"strings"

	"dewclaw/rubric"
)

// Case is a simulated patient as written in its file. It states only what
// differs from the species' normal.
type Case struct {
	ID          string // the file's case id; students never see it
	Title       string
	Species     string
	Situation   string // routine, focused, triage
	Signalment  Signalment
	Presenting  string
	Demeanour   string // calm, friendly, wary, fearful, defensive
	History     History
	Truth       []Truth
	Pain        []Pain
	Fragile     string   // "", moderate, severe: how it worsens under handling
	Withhold    []string // step ids
	Hazards     []Hazard
	Precautions []string
	Negatives   []string // field or field@site
	Conclusions Conclusions
	Media       []Medium // the school's own, in the place of ours
	Tags        map[string][]string
	Difficulty  int
	Use         string // practice, exam
	Mirror      bool   // the seed may swap left and right throughout
	Teaching    string
	Sources     []string // who, where and when: which figure or sign
	Confidence  string   // read, memory or derived: how sure this file is of its medicine

	Hash   string // SHA-256 of Source, hex
	Source []byte // the file; after it a line for each medium with the hash of what is heard or seen

	marks marks
}

// File is the name of the file that the case was read from: for staff.
func (k *Case) File() string { return k.marks.at("case").file }

// Signalment is who the patient is.
type Signalment struct {
	Name, Breed, Sex string
	AgeDays          int
	Grams            int
	Age, Weight      string // as written
}

// Young is the age in days below which a step for adults does not apply and
// one for the young does: half a year, by when a dog has its adult teeth
// (common practice, no source).
const Young = 183

// Old is the age in days from which what comes with age may be met: seven years,
// when most lenses of dogs begin to turn blue (common practice, no source).
const Old = 2557

// Match says whether a step exists for this patient, or a variant may be its own.
func (a Applies) Match(s Signalment) bool {
	sex := a.Sex == "" || a.Sex == "any" || s.Sex == a.Sex || strings.HasPrefix(s.Sex, a.Sex+" ")
	switch a.Age {
	case "adult":
		return sex && s.AgeDays >= Young
	case "old":
		return sex && s.AgeDays >= Old
	case "young":
		return sex && s.AgeDays < Young
	}
	return sex
}

// Dry says that the animal has no udder to be seen: it is young, or male.
func (s Signalment) Dry() bool { return !Applies{Sex: "female", Age: "adult"}.Match(s) }

// History is what the owner says.
type History struct {
	Answers   map[string]string
	Otherwise string
	Required  []string
}

// Truth is the value of a field that differs from normal: a value, a range
// "88..108" or a list to draw from, at a site or at none.
type Truth struct {
	Field, Site string
	Values      []string // one, or a list
	Low, High   string   // or a range
}

// Pain is a painful place. Level 1 mild to 4 worst. What the animal shows of
// it is the truth of the region's response field.
type Pain struct {
	Region, Site string
	Level        int
}

// Conclusions are what the student should conclude.
type Conclusions struct {
	Problems []ExpectedProblem
	Accept   []string
	Urgency  string
	Report   []string // field or field@site
}

// ExpectedProblem is a problem with the findings that point to it.
type ExpectedProblem struct {
	ID    string
	Signs []string // field or field@site
}

// ParsePlace reads a place as a case file writes it: field or field@site.
func ParsePlace(s string) rubric.Place {
	field, site, _ := strings.Cut(s, "@")
	return rubric.Place{Field: strings.TrimSpace(field), Site: strings.TrimSpace(site)}
}
