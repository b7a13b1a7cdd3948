package server

import (
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// actForm is the body of POST /api/v1/attempts/{id}/acts.
type actForm struct {
	After int     `json:"after"` // number of the last act that the client knows
	Retry string  `json:"retry"` // the client's word for this request, the same at every try
	Act   sentAct `json:"act"`
}

// sentAct is an act as a client sends it. What the server's clock decides is no
// member; n may be given and must then be after+1.
type sentAct struct {
	N              int            `json:"n,omitempty"`
	Kind           string         `json:"kind"`
	Step           string         `json:"step,omitempty"`
	Site           string         `json:"site,omitempty"`
	Seconds        int            `json:"seconds,omitempty"`
	Manner         string         `json:"manner,omitempty"`
	Of             int            `json:"of,omitempty"`
	Field          string         `json:"field,omitempty"`
	Region         string         `json:"region,omitempty"`
	Value          string         `json:"value,omitempty"`
	Over           int            `json:"over,omitempty"`
	Interpretation string         `json:"interpretation,omitempty"`
	Reason         string         `json:"reason,omitempty"`
	Sure           string         `json:"sure,omitempty"`
	Topic          string         `json:"topic,omitempty"`
	How            string         `json:"how,omitempty"`
	Problems       []string       `json:"problems,omitempty"`
	Urgency        string         `json:"urgency,omitempty"`
	Report         *face.Handover `json:"report,omitempty"`
}

// act is the form as the engine's act.
func (f sentAct) act() rubric.Act {
	a := rubric.Act{Kind: rubric.Kind(f.Kind), Step: f.Step, Site: f.Site, Seconds: f.Seconds, Manner: f.Manner, Of: f.Of,
		Field: f.Field, Region: f.Region, Value: f.Value, Over: f.Over, Interpretation: f.Interpretation, Reason: f.Reason, Sure: f.Sure,
		Topic: f.Topic, How: f.How, Problems: f.Problems, Urgency: f.Urgency}
	if f.Report != nil {
		a.Report = &rubric.Handover{Situation: f.Report.Situation, Background: f.Report.Background,
			Assessment: f.Report.Assessment, Request: f.Report.Request}
		for _, g := range f.Report.Fields {
			a.Report.Fields = append(a.Report.Fields, rubric.Given{Field: g.Field, Site: g.Site, Value: g.Value})
		}
	}
	return a
}

// sendable is an act as it can be sent.
func sendable(a rubric.Act) sentAct {
	return sentAct{Kind: string(a.Kind), Step: a.Step, Site: a.Site, Seconds: a.Seconds, Manner: a.Manner, Of: a.Of,
		Field: a.Field, Region: a.Region, Value: a.Value, Over: a.Over, Interpretation: a.Interpretation, Reason: a.Reason, Sure: a.Sure,
		Topic: a.Topic, How: a.How, Problems: a.Problems, Urgency: a.Urgency, Report: faceHandover(a.Report)}
}

// apiAct does one act.
func (s *Server) apiAct(c *gin.Context) error {
	var f actForm
	if err := decode(c, &f); err != nil {
		return err
	}
	if f.Act.N != 0 && f.Act.N != f.After+1 {
		return invalid("/act/n", fmt.Sprintf("%d is not the act after %d; leave n out, or send %d", f.Act.N, f.After, f.After+1))
	}
	a, err := s.act(c.Request.Context(), who(c), c.Param("id"), f.After, f.Retry, f.Act.act())
	if err != nil {
		return err
	}
	return s.answer(c, made, a)
}

// member is a member of an act: to which kinds it belongs and whether an act has it.
type member struct {
	name  string
	kinds []rubric.Kind
	given func(rubric.Act) bool
}

// members is which member belongs to which kind.
var members = []member{
	{"step", []rubric.Kind{rubric.Examine}, func(a rubric.Act) bool { return a.Step != "" }},
	{"site", []rubric.Kind{rubric.Examine, rubric.Record}, func(a rubric.Act) bool { return a.Site != "" }},
	{"seconds", []rubric.Kind{rubric.Lift, rubric.Wait}, func(a rubric.Act) bool { return a.Seconds != 0 }},
	{"manner", []rubric.Kind{rubric.Examine}, func(a rubric.Act) bool { return a.Manner != "" }},
	{"of", []rubric.Kind{rubric.Lift, rubric.Record}, func(a rubric.Act) bool { return a.Of != 0 }},
	{"field", []rubric.Kind{rubric.Record}, func(a rubric.Act) bool { return a.Field != "" }},
	{"region", []rubric.Kind{rubric.Record}, func(a rubric.Act) bool { return a.Region != "" }},
	{"value", []rubric.Kind{rubric.Record}, func(a rubric.Act) bool { return a.Value != "" }},
	{"over", []rubric.Kind{rubric.Record}, func(a rubric.Act) bool { return a.Over != 0 }},
	{"interpretation", []rubric.Kind{rubric.Record}, func(a rubric.Act) bool { return a.Interpretation != "" }},
	{"reason", []rubric.Kind{rubric.Record, rubric.Conclude}, func(a rubric.Act) bool { return a.Reason != "" }},
	{"sure", []rubric.Kind{rubric.Record}, func(a rubric.Act) bool { return a.Sure != "" }},
	{"topic", []rubric.Kind{rubric.Ask}, func(a rubric.Act) bool { return a.Topic != "" }},
	{"how", []rubric.Kind{rubric.Handle}, func(a rubric.Act) bool { return a.How != "" }},
	{"problems", []rubric.Kind{rubric.Conclude}, func(a rubric.Act) bool { return len(a.Problems) > 0 }},
	{"urgency", []rubric.Kind{rubric.Conclude}, func(a rubric.Act) bool { return a.Urgency != "" }},
	{"report", []rubric.Kind{rubric.Conclude}, func(a rubric.Act) bool { return a.Report != nil }},
	{"held", nil, func(a rubric.Act) bool { return a.Held != 0 }}, // the server's clock alone
}

// sendKinds are the kinds of act that a student can send.
var sendKinds = []rubric.Kind{rubric.Examine, rubric.Lift, rubric.Record, rubric.Ask, rubric.Handle, rubric.Wait, rubric.Hint, rubric.Conclude}

// checkAct refuses what does not belong into an act, all of it at once. What a
// member may hold the patient says.
func checkAct(after int, retry string, act rubric.Act) error {
	f := &Fault{Kind: ErrInvalid, Text: "This act cannot be done as it stands. Nothing was changed."}
	wrong := func(pointer, detail string) { f.Fields = append(f.Fields, FieldProblem{pointer, detail}) }
	if after < 0 {
		wrong("/after", "the number of the last act that you know; 0 before the first")
	}
	if !retryShape.MatchString(retry) {
		wrong("/retry", "8 to 64 letters, digits, - or _: one for each act, the same at every try of it")
	}
	if !slices.Contains(sendKinds, act.Kind) {
		wrong("/act/kind", "one of "+kindList(sendKinds))
		return f
	}
	for _, m := range members {
		if !m.given(act) || slices.Contains(m.kinds, act.Kind) {
			continue
		}
		if m.name == "seconds" && act.Kind == rubric.Examine {
			wrong("/act/seconds", "an examination lasts until you lift or do something else; the server's clock says how long")
			continue
		}
		wrong("/act/"+m.name, fmt.Sprintf("does not belong to an act of kind %s; leave it out", act.Kind))
	}
	if len(f.Fields) > 0 {
		return f
	}
	return nil
}

func kindList(kinds []rubric.Kind) string {
	words := make([]string, 0, len(kinds))
	for _, k := range kinds {
		words = append(words, string(k))
	}
	return strings.Join(words, ", ")
}
