package drill

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// Answer is what a student says to an item.
type Answer struct {
	Value          string // a choice's id, or a number as it would be charted
	Over           string // of a count: over how many seconds, for what is said of its arithmetic; may be empty
	Low, High      string // the reference range, where it is said first
	Interpretation string // low, normal or high, where a range is said; empty: as the own range has it
}

// Result is a marked answer.
type Result struct {
	Mark   rubric.Milli // 0 to 1000
	Right  bool         // the mark is full
	Actual string       // what was there, in words
	Reason string       // why the mark is what it is
	Acts   []rubric.Act // of the short transcript; of a pair those of A, then those of B
	Report rubric.Report
}

// full is the mark of a right answer.
const full rubric.Milli = 1000

// Answer marks an answer: the same answer to the same item is marked the same. One
// that cannot be read is a *rubric.MemberError, and nothing is marked.
func (it Item) Answer(a Answer) (Result, error) {
	a.Value = strings.TrimSpace(a.Value)
	if it.form.choices != nil {
		if err := offered(it.form.choices(it), a.Value); err != nil {
			return Result{}, err
		}
	}
	r, err := it.form.mark(it, a)
	if err != nil {
		return Result{}, err
	}
	r.Right = r.Mark >= full
	return r, nil
}

// offered says that a choice is one of those that are offered.
func offered(choices []Choice, value string) error {
	var ids []string
	for _, c := range choices {
		ids = append(ids, c.ID)
	}
	if slices.Contains(ids, value) {
		return nil
	}
	problem := fmt.Sprintf("%q is not offered", clip40(value))
	if value == "" {
		problem = "nothing is chosen"
	}
	return &rubric.MemberError{Member: "value", Problem: problem, Right: "one of " + strings.Join(ids, ", ")}
}

func clip40(s string) string {
	if r := []rune(strings.ToValidUTF8(s, "?")); len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}

// paper is a short transcript with what it is marked by.
type paper struct {
	patient *cases.Patient
	acts    []rubric.Act
	rubric  rubric.Rubric
	key     rubric.Key
}

// scheme is the shipped rubric that is cut down.
var scheme = sync.OnceValues(func() (rubric.Rubric, error) { return file.Builtin("veterinary") })

// cut is the scheme cut down to the step and the seconds of a question.
func (a *ask) cut() (rubric.Rubric, error) {
	r, err := scheme()
	if err != nil {
		return r, err
	}
	r.Hurdles, r.Rules, r.Routes = nil, nil, nil
	r.Steps = []rubric.StepRow{{Step: a.Step, Weight: 3}}
	if a.Over > 0 {
		r.Windows = rubric.Windows{Heart: a.Over, Breathing: a.Over, FastBreathing: a.Over, Irregular: a.Over, FastAbove: r.Windows.FastAbove}
	}
	return r, nil
}

// paper begins one of a patient: the rubric cut down to one domain, and the key
// to the asked field.
func (it Item) paper(patient int, domain string) (paper, error) {
	r, err := it.ask.cut()
	if err != nil {
		return paper{}, err
	}
	r.Weights = rubric.Weights{Findings: 100}
	if domain == rubric.DomainVitals {
		r.Weights = rubric.Weights{Vitals: 100}
	}
	k, err := it.keys[patient]()
	if err != nil {
		return paper{}, err
	}
	k.Steps = only(k.Steps, func(s *rubric.Step) bool { return s.ID == it.ask.Step })
	k.Fields = only(k.Fields, func(f *rubric.Field) bool { return f.ID == it.ask.Field })
	k.Vitals = only(k.Vitals, func(v *rubric.Vital) bool { return v.Field == it.ask.Field })
	k.Findings, k.Negatives, k.Topics, k.Precautions, k.Expected = nil, nil, nil, nil, rubric.Expected{}
	for i := range k.Steps {
		k.Steps[i].Reveals = []string{it.ask.Field}
	}
	return paper{patient: it.patients[patient], rubric: r, key: k}, nil
}

// only is a new list of those that are wanted.
func only[T any](list []T, wanted func(*T) bool) []T {
	var out []T
	for i := range list {
		if wanted(&list[i]) {
			out = append(out, list[i])
		}
	}
	return out
}

// grade plays the acts and marks them.
func (p *paper) grade() (Result, error) {
	t, err := p.patient.Play(p.acts)
	if err != nil {
		return Result{}, err
	}
	out := Result{Report: rubric.Grade(p.rubric, p.key, t)}
	for _, e := range t {
		out.Acts = append(out.Acts, e.Act)
	}
	out.Mark = rubric.Milli(out.Report.Total) / 100
	return out, nil
}

func (it Item) record(site, value string) rubric.Act {
	return rubric.Act{Kind: rubric.Record, Field: it.ask.Field, Site: site, Value: value}
}

// recordSite is the site at which a field is charted that is shown at a site.
func (it Item) recordSite(site string) string {
	if !it.field.PerSite {
		return ""
	}
	return site
}

// exact makes the value that is there the one finding, and each other that is
// offered the absence of it: in a drill a value is named exactly.
func (it Item) exact(p *paper, value string) {
	site := it.recordSite(it.r.Sites[0])
	for i := range p.key.Fields {
		f := &p.key.Fields[i]
		f.Kind, f.Tolerance, f.AcceptAs, f.Variants = "choice", 0, nil, nil
		f.Normal = slices.DeleteFunc(slices.Clone(f.Of), func(v string) bool { return v == value })
	}
	p.key.Findings = []rubric.Finding{{Field: it.ask.Field, Site: site, Value: value, Major: true, Steps: []string{it.ask.Step}}}
}

// markOne marks a value named for one of the patients.
func (it Item) markOne(patient int, value string) (Result, error) {
	p, err := it.paper(patient, rubric.DomainFindings)
	if err != nil {
		return Result{}, err
	}
	it.exact(&p, it.r.Values[patient])
	p.acts = []rubric.Act{it.examine(it.r.Sites[0]), it.record(it.recordSite(it.r.Sites[0]), value)}
	return p.grade()
}

func (it Item) markValue(a Answer) (Result, error) {
	r, err := it.markOne(0, a.Value)
	r.Actual = it.label(it.ask.Field, it.r.Values[0])
	r.Reason = it.because(a.Value)
	return r, err
}

// markPair marks A and B each by itself; the answer is as good as the worse.
func (it Item) markPair(a Answer) (Result, error) {
	first, second, _ := strings.Cut(a.Value, pairMark)
	r, err := it.markOne(0, first)
	if err != nil {
		return Result{}, err
	}
	b, err := it.markOne(1, second)
	r.Acts = append(r.Acts, b.Acts...)
	if b.Mark < r.Mark {
		r.Mark, r.Report = b.Mark, b.Report
	}
	r.Actual = it.pairLabel(it.truth())
	r.Reason = it.becausePair(a.Value)
	return r, err
}

func (it Item) pairLabel(id string) string {
	for _, c := range it.pairChoices() {
		if c.ID == id {
			return c.Label
		}
	}
	return id
}

// markPlace marks a place: whoever names one goes there and charts it, and who
// says nowhere goes to all and charts each as normal.
func (it Item) markPlace(a Answer) (Result, error) {
	p, err := it.paper(0, rubric.DomainFindings)
	if err != nil {
		return Result{}, err
	}
	it.somewhere(&p)
	if a.Value == noneID {
		for _, s := range it.r.Sites {
			p.acts = append(p.acts, it.examine(s))
		}
		for _, s := range it.r.Sites {
			p.acts = append(p.acts, it.record(s, p.key.Fields[0].Normal[0]))
		}
	} else {
		p.acts = []rubric.Act{it.examine(a.Value), it.record(a.Value, it.r.Values[0])}
	}
	r, err := p.grade()
	r.Actual = it.placeLabel(orNone(it.r.Site))
	r.Reason = it.becausePlace(a.Value)
	return r, err
}

// somewhere makes what is at a place the one finding there and nowhere else, or
// every place that is offered a pertinent negative.
func (it Item) somewhere(p *paper) {
	for i := range p.key.Fields {
		p.key.Fields[i].Sites, p.key.Fields[i].AcceptAs = it.r.Sites, nil
	}
	if it.r.Site != "" {
		p.key.Findings = []rubric.Finding{{Field: it.ask.Field, Site: it.r.Site, Value: it.r.Values[0], Major: true, Steps: []string{it.ask.Step}}}
		return
	}
	for _, s := range it.r.Sites {
		p.key.Negatives = append(p.key.Negatives, rubric.Place{Field: it.ask.Field, Site: s})
	}
}

func (it Item) placeLabel(id string) string {
	if id == noneID {
		return it.ask.None
	}
	return upper(id)
}

// number says that a text can be charted as the field's number.
func (it Item) number(member, text string) (rubric.Milli, error) {
	bad := &rubric.MemberError{Member: member, Problem: fmt.Sprintf("%q is no number", clip40(text)), Right: "a number, such as 72"}
	if strings.TrimSpace(text) == "" {
		bad.Problem = "nothing is written"
		return 0, bad
	}
	rd, err := it.field.Read(text)
	if err != nil || rd.Class != rubric.Figure {
		return 0, bad
	}
	return rd.Number, nil
}

// over is over how many seconds a rate was counted; 0: nobody said.
func (it Item) over(text string) (int, error) {
	if text = strings.TrimSpace(text); text == "" || it.field.Kind != "count" {
		return 0, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > 60 {
		return 0, &rubric.MemberError{Member: "over", Problem: fmt.Sprintf("%q is no number of seconds", clip40(text)), Right: "whole seconds from 1 to 60"}
	}
	return n, nil
}

// readPart is what a reading earns of the mark where it is called as well: more
// than in an examination, for a call without its reading is a guess (derived).
const readPart = 750

// vital marks a number, and how it was called where calls is true.
func (it Item) vital(a Answer, calls bool) (Result, error) {
	if _, err := it.number("value", a.Value); err != nil {
		return Result{}, err
	}
	over, err := it.over(a.Over)
	if err != nil {
		return Result{}, err
	}
	p, err := it.paper(0, rubric.DomainVitals)
	if err != nil {
		return Result{}, err
	}
	p.rubric.MarkShare = int(full)
	if calls {
		p.rubric.MarkShare = readPart
	}
	for i := range p.key.Vitals {
		p.key.Vitals[i].Required, p.key.Vitals[i].Rhythm, p.key.Vitals[i].Uncounted = true, "", nil
	}
	rec := it.record("", a.Value)
	rec.Interpretation, rec.Over = a.Interpretation, over
	p.acts = []rubric.Act{it.examine(it.r.Sites[0]), rec}
	r, err := p.grade()
	if err == nil && len(r.Report.Vitals) == 1 {
		r.Actual = it.quantity(r.Report.Vitals[0].Truth)
	}
	return r, err
}

func (it Item) markFigure(a Answer) (Result, error) {
	r, err := it.vital(a, false)
	if err == nil {
		r.Reason = it.becauseFigure(a, r)
	}
	return r, err
}
