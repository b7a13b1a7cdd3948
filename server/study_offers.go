package server

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"dewclaw/cases"
	"dewclaw/cases/drill"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/server/study"

	"github.com/gin-gonic/gin"
)

// nextAnswer is what to do next.
type nextAnswer struct {
	Offers []face.Offer `json:"offers"`
}

func (s *Server) apiNext(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	if err := s.notWhileSitting(ctx, who); err != nil {
		return err
	}
	offers, err := s.whatNext(ctx, who)
	if err != nil {
		return err
	}
	return s.answer(c, done, nextAnswer{offers})
}

// nextUnlessSitting is what a person is offered on the start page: nothing while
// a sitting of theirs runs.
func (s *Server) nextUnlessSitting(ctx context.Context, who face.Person) ([]face.Offer, error) {
	err := s.notWhileSitting(ctx, who)
	if errors.Is(err, ErrNotNow) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return s.whatNext(ctx, who)
}

// whatNext are the three offers to a person. They stay the same until something
// new was begun.
func (s *Server) whatNext(ctx context.Context, who face.Person) ([]face.Offer, error) {
	list, err := s.judgements(ctx, who)
	if err != nil {
		return nil, err
	}
	pool, err := s.poolFor(ctx, who)
	if err != nil {
		return nil, err
	}
	visits, err := s.store.Attempts(ctx, store.Filter{Person: who.ID, Limit: mostVisits})
	if err != nil {
		return nil, fmt.Errorf("what next: %w", err)
	}
	skills := s.skills()
	w := study.World{Now: s.now().In(s.zone()), Judgements: list, Met: s.metIn(visits), Draw: study.DrawFor(who.ID, len(visits)+len(list))}
	for _, k := range skills {
		w.Skills = append(w.Skills, k.ID)
	}
	for _, k := range pool {
		w.Patients = append(w.Patients, s.studyPatient(k))
	}
	kinds := drillsFor(w.Met)
	for _, k := range kinds {
		w.Drills = append(w.Drills, study.Drill{ID: k.ID, Label: k.Label, Skill: k.Skill})
	}
	out := []face.Offer{}
	for _, o := range study.Offers(w) {
		out = append(out, s.faceOffer(o, w, pool, kinds, skills))
	}
	return out, nil
}

// poolFor are the patients that a person can be offered: for practice, and none
// that is kept from this person for a sitting or was watched with an expert.
func (s *Server) poolFor(ctx context.Context, who face.Person) ([]*cases.Case, error) {
	all, err := s.unsealed(ctx, who.ID, s.library.Cases())
	if err != nil {
		return nil, err
	}
	watched, err := s.store.WatchedBy(ctx, who.ID)
	if err != nil {
		return nil, fmt.Errorf("what next: %w", err)
	}
	known := func(k *cases.Case) bool { // it was told with reasons and all that there is
		return slices.ContainsFunc(watched, func(w store.Watched) bool { return w.CaseID == k.ID })
	}
	return slices.DeleteFunc(all, func(k *cases.Case) bool { return k.Use != practice || known(k) }), nil
}

// skills are the skills of the catalogues, which all species have alike.
func (s *Server) skills() []cases.Skill {
	for _, species := range s.library.Species() {
		if all := s.library.Catalogue(species).Skills; len(all) > 0 {
			return all
		}
	}
	return nil
}

// studyPatient is a case as offers see it.
func (s *Server) studyPatient(k *cases.Case) study.Patient {
	p := study.Patient{ID: s.opaque(k.ID), Case: k.ID, Species: k.Species, System: systemOf(k), Healthy: len(k.Conclusions.Problems) == 0, Whole: k.Situation == "routine", Difficulty: k.Difficulty}
	cat := s.library.Catalogue(k.Species)
	for _, problem := range k.Conclusions.Problems {
		for _, sign := range problem.Signs {
			if skill := cat.SkillOf(cases.ParsePlace(sign).Field); skill != "" && !slices.Contains(p.Skills, skill) {
				p.Skills = append(p.Skills, skill)
			}
		}
	}
	return p
}

// metIn are the patients of visits for practice, the first first.
func (s *Server) metIn(visits []store.Listed) []study.Met {
	var out []study.Met
	for _, v := range slices.Backward(visits) {
		if k := s.library.Case(v.Case); k != nil && v.Purpose == "" {
			out = append(out, study.Met{Case: k.ID, Species: k.Species, System: systemOf(k), At: v.Started})
		}
	}
	return out
}

// drillsFor are the drills for the species that somebody has met, or for any.
func drillsFor(met []study.Met) []drill.Kind {
	return slices.DeleteFunc(drill.Kinds(), func(k drill.Kind) bool { return len(met) > 0 && speciesOf(k, met) == "" })
}

// speciesOf is the species in which a drill is offered: of those for which it makes
// sense the one met last. Empty: none was met.
func speciesOf(k drill.Kind, met []study.Met) string {
	for _, m := range slices.Backward(met) {
		if len(k.Species) == 0 || slices.Contains(k.Species, m.Species) {
			return m.Species
		}
	}
	return ""
}

// faceOffer is an offer as its student sees it.
func (s *Server) faceOffer(o study.Offer, w study.World, pool []*cases.Case, kinds []drill.Kind, skills []cases.Skill) face.Offer {
	label, noun := "", study.Noun{}
	if i := slices.IndexFunc(skills, func(k cases.Skill) bool { return k.ID == o.Skill.ID }); i >= 0 {
		label, noun = skills[i].Label, study.Noun{One: skills[i].One, Many: skills[i].Many}
	}
	out := face.Offer{Why: string(o.Why), Skill: o.Skill.ID, Reason: o.Reason(label, noun, w.Now)}
	if i := slices.IndexFunc(pool, func(k *cases.Case) bool { return s.opaque(k.ID) == o.Patient }); i >= 0 {
		p := s.facePatient(pool[i])
		out.Patient = &p
	}
	if i := slices.IndexFunc(kinds, func(k drill.Kind) bool { return k.ID == o.Drill }); i >= 0 {
		k := kinds[i]
		out.Drill = &face.OfferedDrill{Kind: k.ID, Label: k.Label, Hint: k.Hint, Seconds: k.Seconds, Species: speciesOf(k, w.Met)}
	}
	return out
}

// lastTrack is how somebody was marked last in practice, where that can still be.
func (s *Server) lastTrack(visits []face.Visit) string {
	for _, v := range visits {
		if v.Purpose == "" {
			if s.shelf.Load().current(v.Track) != nil {
				return v.Track
			}
			break
		}
	}
	return defaultTrack
}
