package server

import (
	"context"
	"fmt"
	"slices"

	"dewclaw/cases/drill"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/server/study"

	"github.com/gin-gonic/gin"
)

func (s *Server) apiProgress(c *gin.Context) error {
	p, err := s.progress(c.Request.Context(), person(c))
	if err != nil {
		return err
	}
	return s.answer(c, done, p)
}

// progress is what a person's own visits and drills say. It rests while a sitting
// of theirs runs: what they forget would be a hint there.
func (s *Server) progress(ctx context.Context, who face.Person) (p face.Progress, err error) {
	if err := s.notWhileSitting(ctx, who); err != nil {
		return p, err
	}
	list, err := s.judgements(ctx, who)
	if err != nil {
		return p, err
	}
	p = face.Progress{Skills: s.toldSkills(list), Forgotten: s.toldForgotten(list), Sure: []face.SureBand{}}
	bands := study.Bands(list)
	p.SureText = study.TooFew(bands)
	if p.SureText == "" {
		for _, b := range bands {
			p.Sure = append(p.Sure, face.SureBand{Sure: b.Sure, Right: b.Right, N: b.N, Low: b.Low, High: b.High, Text: b.Words(), Claim: b.Against()})
		}
	}
	if p.Plans, err = s.toldPlans(ctx, who); err != nil {
		return p, err
	}
	p.Drills, err = s.toldDrills(ctx, who)
	return p, err
}

// toldSkills are the skills in sentences, in the catalogue's order.
func (s *Server) toldSkills(list []study.Judgement) []face.Skill {
	rows := s.skills()
	ids := make([]string, len(rows))
	for i, r := range rows {
		ids[i] = r.ID
	}
	out, now := []face.Skill{}, s.now().In(s.zone())
	for i, k := range study.SkillsOf(list, ids) {
		f := face.Skill{ID: k.ID, Label: rows[i].Label, Text: k.Sentence(study.Noun{One: rows[i].One, Many: rows[i].Many}, now),
			Lines: k.Lines, Patients: k.Patients, Drills: k.Drills}
		if !k.Little {
			f.Expect, f.Low, f.High = &k.Middle, &k.Low, &k.High
		}
		if k.Lines > 0 {
			f.Last, f.Due = &k.Last, &k.Due
		}
		out = append(out, f)
	}
	return out
}

// toldForgotten are the steps left out again and again, by species.
func (s *Server) toldForgotten(list []study.Judgement) []face.Forgotten {
	out := []face.Forgotten{}
	for _, species := range s.library.Species() {
		cat := s.library.Catalogue(species)
		f := face.Forgotten{Species: species, Label: cat.Label}
		for _, row := range study.ForgottenOf(list, species) {
			step := cat.Step(row.Step)
			if step == nil {
				continue // there is no such step any more
			}
			f.Steps = append(f.Steps, face.ForgottenStep{Step: step.ID, Region: step.Region, Label: step.Label, Left: row.Left, Visits: row.Visits, Text: row.Sentence()})
		}
		if len(f.Steps) > 0 {
			out = append(out, f)
		}
	}
	return out
}

// toldPlans are the plans that were taken along, the last first.
func (s *Server) toldPlans(ctx context.Context, who face.Person) ([]face.PlanTold, error) {
	rows, err := s.store.PlansOf(ctx, who.ID)
	if err != nil {
		return nil, fmt.Errorf("progress: %w", err)
	}
	out := []face.PlanTold{}
	for _, r := range slices.Backward(rows) {
		plan := study.PlanOf(r.Plan)
		if plan == nil {
			continue // the sentence is none any more
		}
		out = append(out, face.PlanTold{Plan: r.Plan, Sentence: plan.Sentence, Made: r.Made, Kept: keptWord(r)})
	}
	return out, nil
}

// keptWord is what became of a plan.
func keptWord(p store.Plan) string {
	switch {
	case p.Checked == 0:
		return "waits"
	case p.Kept == study.CannotTell:
		return "unclear"
	}
	return p.Kept
}

// lastItems are looked at of each kind of drill.
const lastItems = 10

// toldDrills says of each kind of drill how the last items went, the kind done
// last first.
func (s *Server) toldDrills(ctx context.Context, who face.Person) ([]face.DrillTold, error) {
	items, err := s.store.ItemsOf(ctx, who.ID, store.ItemMarked)
	if err != nil {
		return nil, fmt.Errorf("progress: %w", err)
	}
	out := []face.DrillTold{}
	kinds := drill.Kinds()
	for _, it := range slices.Backward(items) {
		at := slices.IndexFunc(out, func(d face.DrillTold) bool { return d.Kind == it.Kind })
		if at < 0 {
			k := slices.IndexFunc(kinds, func(k drill.Kind) bool { return k.ID == it.Kind })
			if k < 0 {
				continue // there is no such drill any more
			}
			at = len(out)
			out = append(out, face.DrillTold{Kind: it.Kind, Label: kinds[k].Label, Last: it.Answered})
		}
		if d := &out[at]; d.N < lastItems {
			d.N++
			if it.Mark >= study.Right {
				d.Right++
			}
		}
	}
	for i := range out {
		right := fmt.Sprintf("%d of the last %d right", out[i].Right, out[i].N)
		if out[i].N == 1 {
			right = []string{"one answered, and not right", "one answered, and right"}[out[i].Right]
		}
		out[i].Text = right + "; last done " + study.Ago(out[i].Last, s.now().In(s.zone())) + "."
	}
	return out, nil
}
