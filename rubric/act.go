package rubric

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// ErrAct is wrapped by every error about an act that is not well formed.
var ErrAct = errors.New("not a well-formed act")

// MemberError says which member of an act is wrong and what would be right.
type MemberError struct {
	Member  string // as spelled in JSON
	Problem string
	Right   string
}

// Error joins the parts into one sentence.
func (e *MemberError) Error() string {
	return fmt.Sprintf("%s: %s; write %s", e.Member, e.Problem, e.Right)
}

// Unwrap makes errors.Is(err, ErrAct) true.
func (e *MemberError) Unwrap() error { return ErrAct }

const (
	textMost  = 2000 // bytes of one text of a report
	idMost    = 120  // bytes of an id or a value
	listMost  = 200  // problems, or fields of a report
	secondsMx = day
)

// members is what one kind of act needs and may hold, by JSON name.
type members struct{ needs, may []string }

// kinds is the table of acts.
var kinds = map[Kind]members{
	Examine:  {[]string{"step"}, []string{"site", "seconds", "manner"}},
	Lift:     {[]string{"of"}, []string{"seconds"}},
	Record:   {nil, []string{"field", "region", "site", "value", "over", "interpretation", "reason", "sure", "of"}},
	Ask:      {[]string{"topic"}, nil},
	Handle:   {[]string{"how"}, nil},
	Wait:     {[]string{"seconds"}, nil},
	Hint:     {nil, []string{"region", "step", "field"}},
	Conclude: {nil, []string{"problems", "urgency", "report", "reason"}},
	Rate:     {[]string{"scale", "value", "by"}, nil},
}

// Check says whether the act is well formed by itself: its kind has the
// members it needs and no others, and every member is in bounds. Whether step,
// field or topic exist is for the catalogue to say.
func (a *Act) Check() error {
	row, ok := kinds[a.Kind]
	if !ok {
		return &MemberError{"kind", fmt.Sprintf("%q is no kind of act", clip(string(a.Kind))), "examine, lift, record, ask, handle, wait, hint, conclude or rate"}
	}
	if a.N < 0 || a.Held < 0 || a.Held > secondsMx {
		return &MemberError{"n", "out of range", "numbers from 1 upward"}
	}
	given := a.given()
	for _, m := range row.needs {
		if !slices.Contains(given, m) {
			return &MemberError{m, "missing from an act of kind " + string(a.Kind), "one"}
		}
	}
	for _, m := range given {
		if !slices.Contains(row.needs, m) && !slices.Contains(row.may, m) {
			return &MemberError{m, "has no meaning in an act of kind " + string(a.Kind), "none"}
		}
	}
	return errors.Join(a.checkTexts(), a.checkNumbers(), a.checkChoices(), a.checkLists())
}

// texts lists the text members by JSON name.
func (a *Act) texts() [14]struct{ name, text string } {
	return [...]struct{ name, text string }{
		{"step", a.Step}, {"site", a.Site}, {"manner", a.Manner}, {"field", a.Field}, {"region", a.Region},
		{"value", a.Value}, {"interpretation", a.Interpretation}, {"reason", a.Reason}, {"topic", a.Topic},
		{"how", a.How}, {"sure", a.Sure}, {"urgency", a.Urgency}, {"scale", a.Scale}, {"by", a.By}}
}

// given lists the members that are not empty.
func (a *Act) given() []string {
	var list []string
	for _, t := range a.texts() {
		if t.text != "" {
			list = append(list, t.name)
		}
	}
	for _, n := range [...]struct {
		name string
		n    int
	}{{"seconds", a.Seconds}, {"of", a.Of}, {"over", a.Over}, {"problems", len(a.Problems)}} {
		if n.n != 0 {
			list = append(list, n.name)
		}
	}
	if a.Report != nil {
		list = append(list, "report")
	}
	return list
}

func (a *Act) checkTexts() error {
	for _, t := range a.texts() {
		most := idMost
		if t.name == "reason" {
			most = textMost
		}
		if err := checkText(t.name, t.text, most); err != nil {
			return err
		}
	}
	return nil
}

func checkText(name, text string, most int) error {
	if len(text) > most {
		return &MemberError{name, fmt.Sprintf("%d bytes long", len(text)), fmt.Sprintf("at most %d bytes", most)}
	}
	if strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }) {
		return &MemberError{name, "holds a control character", "plain text"}
	}
	return nil
}

func (a *Act) checkNumbers() error {
	if a.Seconds < 0 || a.Seconds > secondsMx {
		return &MemberError{"seconds", fmt.Sprintf("%d is out of range", a.Seconds), fmt.Sprintf("whole seconds from 0 to %d", secondsMx)}
	}
	if a.Over < 0 || a.Over > 3600 {
		return &MemberError{"over", fmt.Sprintf("%d is out of range", a.Over), "whole seconds from 0 to 3600"}
	}
	if a.Of < 0 || (a.N > 0 && a.Of >= a.N) {
		return &MemberError{"of", fmt.Sprintf("%d is no earlier act", a.Of), "the number of the act that is meant"}
	}
	return nil
}

func (a *Act) checkChoices() error {
	for _, c := range [...]struct {
		name, text string
		of         []string
	}{
		{"manner", a.Manner, []string{"gentle", "firm"}},
		{"interpretation", a.Interpretation, []string{"low", "normal", "high"}},
		{"urgency", a.Urgency, urgencies},
		{"sure", a.Sure, Sures()},
	} {
		if c.text != "" && !slices.Contains(c.of, c.text) {
			return &MemberError{c.name, fmt.Sprintf("%q is not known", clip(c.text)), strings.Join(c.of, ", ")}
		}
	}
	if a.Kind != Record {
		return nil
	}
	switch {
	case (a.Field == "") == (a.Region == ""):
		return &MemberError{"field", "a record needs a field or a region, and not both", "one of them"}
	case a.Region != "" && a.Value != "normal":
		return &MemberError{"value", "a region can only be called normal", `"normal"`}
	case strings.EqualFold(a.Value, NotExamined) && strings.TrimSpace(a.Reason) == "":
		return &MemberError{"reason", "missing beside 'not examined'", "why it was not examined"}
	}
	return a.checkSure()
}

// checkSure says of what one can be sure: of a value that was found, on one line.
func (a *Act) checkSure() error {
	switch {
	case a.Sure != "" && (a.Region != "" || a.Value == "" || strings.EqualFold(a.Value, NotExamined)):
		return &MemberError{"sure", "stands beside no value that was found", "it beside the value of one field"}
	case a.Of > 0 && a.Sure == "":
		return &MemberError{"of", "has no meaning in a record that does not say how sure one is", "none, or sure beside it"}
	}
	return nil
}

func (a *Act) checkLists() error {
	if len(a.Problems) > listMost {
		return &MemberError{"problems", fmt.Sprintf("%d of them", len(a.Problems)), fmt.Sprintf("at most %d", listMost)}
	}
	for _, p := range a.Problems {
		if err := checkText("problems", p, idMost); err != nil {
			return err
		}
	}
	h := a.Report
	if h == nil {
		return nil
	}
	if len(h.Fields) > listMost {
		return &MemberError{"report", fmt.Sprintf("%d fields", len(h.Fields)), fmt.Sprintf("at most %d", listMost)}
	}
	for _, t := range [...]struct{ name, text string }{{"situation", h.Situation}, {"background", h.Background}, {"assessment", h.Assessment}, {"request", h.Request}} {
		if err := checkText("report."+t.name, t.text, textMost); err != nil {
			return err
		}
	}
	for _, f := range h.Fields {
		if err := errors.Join(checkText("report.fields", f.Field, idMost), checkText("report.fields", f.Site, idMost), checkText("report.fields", f.Value, idMost)); err != nil {
			return err
		}
	}
	return nil
}
