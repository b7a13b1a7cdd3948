package server

import (
	"context"
	"errors"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
)

// practice is the use of a case that students may open by themselves. A case
// for exams is not shown to them and does not start for them.
const practice = "practice"

// The words that every catalogue shares; the ids are the engine's.
var (
	manners  = []face.Term{{ID: "", Label: "As usual"}, {ID: "gentle", Label: "Gently"}, {ID: "firm", Label: "Firmly"}}
	urgency  = []face.Term{{ID: "routine", Label: "Routine"}, {ID: "same day", Label: "Same day"}, {ID: "emergency", Label: "Emergency"}}
	readings = []face.Term{{ID: "low", Label: "Low"}, {ID: "normal", Label: "Normal"}, {ID: "high", Label: "High"}}
)

// sayWhere is the problem of a line whose place is missing, in package cases' words.
const sayWhere = "say where"

// catalogue is the examination of a species as students may read it.
func (s *Server) catalogue(species string) (*face.Catalogue, error) {
	if c := s.catalogues[species]; c != nil {
		with := *c
		with.School = s.school().face()
		return &with, nil
	}
	return nil, ErrMissing
}

// How much a refused line says of what could have been meant.
const (
	nearAll  = ""     // everything that is near
	nearNone = "none" // nothing: the sheet is to be known by heart
)

// unlabelled is the way of exam.Places in which the places have no names.
const unlabelled = "unlabelled"

// line reads a typed line into acts, without doing them. Where places are
// exam's unlabelled, those on the drawing are neither read nor told by name.
func (s *Server) line(species, text, near, places string) ([]rubric.Act, error) {
	cat := s.library.Catalogue(species)
	if cat == nil {
		return nil, ErrMissing
	}
	read := cat.ReadLine
	if places == unlabelled {
		read = cat.ReadUnplaced
	}
	acts, err := read(text)
	var bad *cases.LineError
	if errors.As(err, &bad) {
		if near == nearNone || places == unlabelled && bad.Problem == sayWhere {
			bad = &cases.LineError{Understood: bad.Understood, Problem: bad.Problem}
		}
		return nil, &Fault{Kind: ErrInvalid, Text: "This line cannot be read. Nothing was changed.",
			Fields: []FieldProblem{{"/text", bad.Error()}}, Cause: err}
	}
	if err != nil {
		return nil, err
	}
	s.school().plainWeights(cat, acts)
	for i := range acts {
		if acts[i].Kind == rubric.Examine {
			acts[i].Seconds = 0 // the server's clock says how long a contact lasts
		}
	}
	return acts, nil
}

// actFault tells what the patient or the catalogue says about an act. Such an
// error holds nothing hidden.
func actFault(err error) error {
	var act *cases.ActError
	if !errors.As(err, &act) {
		if errors.Is(err, cases.ErrAct) {
			return &Fault{Kind: ErrInvalid, Cause: err}
		}
		return err
	}
	detail := act.Problem
	if act.Right != "" {
		detail += "; right would be: " + act.Right
	}
	pointer := "/act/" + strings.ReplaceAll(act.Member, ".", "/")
	return &Fault{Kind: ErrInvalid, Text: "This act cannot be done as it stands. Nothing was changed.",
		Fields: []FieldProblem{{pointer, detail}}, Cause: err}
}

// listCases is every patient that a student may practise with, in the order of
// their opaque ids, which says nothing.
func (s *Server) listCases(ctx context.Context, who face.Person) ([]face.Patient, error) {
	all, err := s.unsealed(ctx, who.ID, s.library.Cases())
	if err != nil {
		return nil, err
	}
	out := []face.Patient{}
	for _, k := range all {
		if k.Use == practice {
			out = append(out, s.facePatient(k))
		}
	}
	slices.SortFunc(out, func(a, b face.Patient) int { return strings.Compare(a.ID, b.ID) })
	return out, nil
}

// staffCases is every case with its title, and every file that is broken. A case
// that is sealed from this very person, who learns in another cohort, is left out.
func (s *Server) staffCases(ctx context.Context, who face.Person) ([]face.StaffCase, []face.Broken, error) {
	all, err := s.unsealed(ctx, who.ID, s.library.Cases())
	if err != nil {
		return nil, nil, err
	}
	rows, broken := []face.StaffCase{}, []face.Broken{}
	for _, k := range all {
		rows = append(rows, face.StaffCase{Patient: s.facePatient(k), Case: k.ID, Title: k.Title, Situation: k.Situation,
			Demeanour: k.Demeanour, Difficulty: k.Difficulty, Use: k.Use, Tags: k.Tags, Teaching: k.Teaching, Media: mediaWords(k), Review: s.reviewed("case/" + k.ID)})
	}
	for _, b := range s.library.Broken() {
		row := face.Broken{File: b.Name}
		for _, p := range b.Problems {
			row.Problems = append(row.Problems, face.Problem{Line: p.Line, Col: p.Col, Message: p.Message})
		}
		broken = append(broken, row)
	}
	return rows, broken, nil
}

// mediaWords name what a case has of the school's own in the place of ours.
func mediaWords(k *cases.Case) []string {
	var out []string
	for i := range k.Media {
		out = append(out, k.Media[i].Words())
	}
	return out
}

func (s *Server) facePatient(k *cases.Case) face.Patient {
	return face.Patient{ID: s.opaque(k.ID), Species: k.Species, Name: k.Signalment.Name, Breed: k.Signalment.Breed,
		Sex: k.Signalment.Sex, Age: k.Signalment.Age, Presenting: k.Presenting, Dry: k.Signalment.Dry()}
}

// faceSpots are where the sites of a step lie on the drawing of the trunk.
func faceSpots(at []cases.Spot) []face.Spot {
	var out []face.Spot
	for _, s := range at {
		out = append(out, face.Spot{Site: s.Site, Right: s.Right(), X: s.Point[0], Y: s.Point[1]})
	}
	return out
}

// faceCatalogue keeps what is the same for every patient and gives no answer
// away: no cue, no normal value, no stress, no least time, nothing on what a
// step reveals.
func faceCatalogue(c *cases.Catalogue) *face.Catalogue {
	out := &face.Catalogue{Species: c.Species, Label: c.Label, Manners: manners, Urgency: urgency, Readings: readings}
	for _, r := range c.Stages {
		out.Stages = append(out.Stages, face.Term{ID: r.ID, Label: r.Label})
	}
	for _, r := range c.Regions {
		out.Regions = append(out.Regions, face.Region{ID: r.ID, Stage: r.Stage, Label: r.Label, X: r.Point[0], Y: r.Point[1], Paired: r.Paired})
	}
	for _, r := range c.Steps {
		out.Steps = append(out.Steps, face.Step{ID: r.ID, Region: r.Region, Verb: r.Verb, Label: r.Label, Instrument: r.Instrument,
			Sites: r.Sites, At: faceSpots(r.At), Seconds: r.Seconds, Takes: r.Takes, Touch: r.Touch, Caution: r.Caution, Synonyms: r.Synonyms})
	}
	for _, r := range c.Fields {
		f := face.Field{ID: r.ID, Region: r.Region, Label: r.Label, Abbr: r.Abbr, Kind: r.Kind, Unit: r.Unit, Vital: r.Vital,
			PerSite: r.PerSite, Sites: r.Sites, Each: r.Each, Meaning: r.Meaning, Synonyms: r.Synonyms}
		if r.Chosen() { // the bands of a measured field are cues, not choices
			for _, ch := range r.Of {
				f.Choices = append(f.Choices, face.Choice{ID: ch.ID, Label: ch.Label, Synonyms: ch.Synonyms})
			}
		}
		out.Fields = append(out.Fields, f)
	}
	for _, r := range c.Topics {
		out.Topics = append(out.Topics, face.Topic{ID: r.ID, Label: r.Label, Ask: r.Ask, Synonyms: r.Synonyms})
	}
	for _, r := range c.Handling {
		out.Handling = append(out.Handling, face.Handling{ID: r.ID, Label: r.Label, Hold: r.Hold, Seconds: r.Seconds, Caution: r.Caution, Synonyms: r.Synonyms})
	}
	for _, r := range c.Problems {
		out.Problems = append(out.Problems, face.Problems{ID: r.ID, Label: r.Label, Meaning: r.Meaning, Synonyms: r.Synonyms})
	}
	return out
}
