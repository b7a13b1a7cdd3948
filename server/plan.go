package server

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/server/study"
)

// planVisit is a marked visit as plans look at it.
func (s *Server) planVisit(ctx context.Context, row store.Attempt) (v study.Visit, err error) {
	stored, err := s.store.Report(ctx, row.Transcript)
	if err != nil {
		return v, missing("plan", err)
	}
	if v.Report, err = rubric.DecodeReport(stored.Packed); err != nil {
		return v, fmt.Errorf("plan: %w", err)
	}
	if v.Key, err = rubric.DecodeKey(row.Key); err != nil {
		return v, fmt.Errorf("plan: %w", err)
	}
	if v.Acts, err = s.transcript(ctx, row); err != nil {
		return v, fmt.Errorf("plan: %w", err)
	}
	return v, nil
}

// checkPlan holds the plan that stands against a practice visit that is being
// marked, if that began once the plan was made and anything was examined in it. It
// comes before the report is read by anybody, and to do it again changes nothing.
func (s *Server) checkPlan(ctx context.Context, row store.Attempt, v study.Visit) error {
	if row.Purpose != "" || !slices.ContainsFunc(v.Acts, func(e rubric.Entry) bool { return e.Act.Kind == rubric.Examine }) {
		return nil
	}
	p, err := s.standingPlan(ctx, row)
	if err != nil || p.ID == "" {
		return err
	}
	kept := study.CannotTell
	if plan := study.PlanOf(p.Plan); plan != nil {
		kept = plan.Kept(&v)
	}
	err = s.store.CheckPlan(ctx, p.ID, row.Transcript, kept)
	if errors.Is(err, store.ErrNotFound) { // another visit was faster, or it was dropped meanwhile
		return nil
	}
	return err
}

// standingPlan is the plan that a visit was begun with, as long as it waits for
// its visit; empty: there is none.
func (s *Server) standingPlan(ctx context.Context, row store.Attempt) (store.Plan, error) {
	p, err := s.store.StandingPlan(ctx, row.Person)
	if errors.Is(err, store.ErrNotFound) || err == nil && (row.Transcript <= p.MadeIn || row.Started.Before(p.Made)) {
		return store.Plan{}, nil
	}
	return p, err
}

// planFor is the sentence that stands over a visit of one's own while it is open.
func (s *Server) planFor(ctx context.Context, who face.Person, id string) (string, error) {
	row, err := s.store.Attempt(ctx, id)
	if err != nil || row.Person != who.ID || row.Purpose != "" {
		return "", err
	}
	p, err := s.standingPlan(ctx, row)
	if plan := study.PlanOf(p.Plan); err == nil && plan != nil {
		return plan.Sentence, nil
	}
	return "", err
}

// plans are the plan that one's own practice visit was held against, and those to
// choose from after it.
func (s *Server) plans(ctx context.Context, who face.Person, id string) (out face.Plans, err error) {
	row, err := s.ownPractice(ctx, who, id)
	if err != nil {
		return out, err
	}
	v, err := s.planVisit(ctx, row)
	if err != nil {
		return out, err
	}
	mine, err := s.store.PlansOf(ctx, who.ID)
	if err != nil {
		return out, fmt.Errorf("plans: %w", err)
	}
	last := ""
	out.Offered = []face.Plan{}
	for _, p := range mine {
		plan := study.PlanOf(p.Plan)
		switch {
		case plan == nil:
		case p.Checked == row.Transcript:
			last, out.Checked = plan.ID, &face.Plan{ID: plan.ID, Sentence: plan.Sentence, Kept: p.Kept}
		case p.Checked == 0 && p.MadeIn == row.Transcript:
			out.Chosen = plan.ID
		case p.Checked == 0:
			out.Stands = plan.Sentence
		}
	}
	for _, plan := range study.Fitting(v, last) {
		out.Offered = append(out.Offered, face.Plan{ID: plan.ID, Sentence: plan.Sentence})
	}
	return out, nil
}

// makePlan takes one of the plans that are offered after one's own practice visit
// along to the next patient, in place of the one that stands; none leaves it open.
func (s *Server) makePlan(ctx context.Context, who face.Person, id, plan string) error {
	all, err := s.plans(ctx, who, id)
	if err != nil {
		return err
	}
	if plan != "" && !slices.ContainsFunc(all.Offered, func(p face.Plan) bool { return p.ID == plan }) {
		return invalid("/plan", "choose one of the sentences that are offered, or none")
	}
	row, err := s.ownPractice(ctx, who, id)
	if err != nil {
		return err
	}
	return s.store.MakePlan(ctx, who.ID, row.Transcript, plan)
}
