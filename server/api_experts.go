package server

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// How far somebody has watched an expert.
const (
	watchedNot   = "no"
	watchedBegun = "begun"
	watchedWhole = "whole"
)

type expertsAnswer struct {
	Experts []face.ExpertLine `json:"experts"`
}

func (s *Server) apiExperts(c *gin.Context) error {
	all, err := s.experts(c.Request.Context(), person(c))
	if err != nil {
		return err
	}
	return s.answer(c, done, expertsAnswer{all})
}

// experts are those whom this person may watch, by label. A species of which
// everybody is kept from this person has none just now.
func (s *Server) experts(ctx context.Context, who face.Person) ([]face.ExpertLine, error) {
	if err := s.notWhileSitting(ctx, who); err != nil {
		return nil, err
	}
	how, err := s.hasWatched(ctx, who)
	if err != nil {
		return nil, err
	}
	open, err := s.unsealed(ctx, who.ID, s.library.Cases())
	if err != nil {
		return nil, err
	}
	out := []face.ExpertLine{}
	for _, species := range s.library.Species() {
		k, err := expertCase(open, species)
		if err != nil {
			continue // nobody is free
		}
		x, err := s.scriptFor(k)
		if err != nil {
			return nil, err
		}
		out = append(out, face.ExpertLine{Species: species, Label: x.cat.Label, Patient: x.face.Name, Moments: len(x.scenes),
			Seconds: x.entries[len(x.entries)-1].Outcome.Clock, Watched: cmp.Or(how[species], watchedNot)})
	}
	slices.SortFunc(out, func(a, b face.ExpertLine) int { return strings.Compare(a.Label, b.Label) })
	return out, nil
}

// hasWatched says by species how far somebody has watched; a species that is not in it was not.
func (s *Server) hasWatched(ctx context.Context, who face.Person) (map[string]string, error) {
	rows, err := s.store.WatchedBy(ctx, who.ID)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, w := range rows {
		out[w.Species] = watchedWhole
		if w.Done.IsZero() {
			out[w.Species] = watchedBegun
		}
	}
	return out, nil
}

func (s *Server) apiExpert(c *gin.Context) error {
	x, cat, err := s.scriptHere(c)
	if err != nil {
		return err
	}
	return s.answer(c, done, s.expert(x, cat))
}

// scriptHere is the examination that a route is about.
func (s *Server) scriptHere(c *gin.Context) (*script, *face.Catalogue, error) {
	x, err := s.script(c.Request.Context(), person(c), c.Param("species"))
	if err != nil {
		return nil, nil, err
	}
	cat, err := s.catalogue(c.Param("species"))
	return x, cat, err
}

func (s *Server) apiExpertNext(c *gin.Context) error {
	x, _, err := s.scriptHere(c)
	if err != nil {
		return err
	}
	_, got, err := s.guessHere(c, x)
	if err != nil {
		return err
	}
	return s.answer(c, done, got)
}

// guessHere reads and answers a guess: at is the scene's number, do an item as the
// choices have it, text what was typed in its place.
func (s *Server) guessHere(c *gin.Context, x *script) (int, face.ExpertAnswer, error) {
	i, err := x.asked(c.Query("at"))
	if err != nil {
		return 0, face.ExpertAnswer{}, err
	}
	it := c.Query("do")
	if text := strings.TrimSpace(c.Query("text")); text != "" {
		if it, err = s.itemOfLine(x.face.Species, text); err != nil {
			return i, face.ExpertAnswer{}, err
		}
	}
	if !knownItem(x.cat, it) {
		return i, face.ExpertAnswer{}, invalid("/do", "Choose what you would do next, or type it.")
	}
	return i, x.answerOf(i, it, s.scriptWords(x)), nil
}

// asked is the scene before which the expert asks what comes next. Elsewhere
// nothing is asked.
func (x *script) asked(n string) (int, error) {
	i, err := strconv.Atoi(n)
	if err != nil || i < 1 || i > len(x.scenes) || !x.scenes[i-1].asks {
		return 0, ErrMissing
	}
	return i - 1, nil
}

type watchedForm struct {
	Whole bool `json:"whole"` // seen to the end
}

func (s *Server) apiWatched(c *gin.Context) error {
	var f watchedForm
	if err := decode(c, &f); err != nil {
		return err
	}
	if err := s.watch(c, f.Whole); err != nil {
		return err
	}
	return s.empty(c)
}

// watch notes that somebody watches, or has seen all of it.
func (s *Server) watch(c *gin.Context, whole bool) error {
	x, err := s.script(c.Request.Context(), person(c), c.Param("species"))
	if err != nil {
		return err
	}
	return s.store.Watch(c.Request.Context(), store.Watched{Person: person(c).ID, Species: x.face.Species, CaseID: x.of}, whole)
}

func (s *Server) apiExpertSound(c *gin.Context) error   { return s.expertMedium(c, soundOf) }
func (s *Server) apiExpertPicture(c *gin.Context) error { return s.expertMedium(c, pictureOf) }

// expertMedium serves what is heard or seen at one of the expert's acts.
func (s *Server) expertMedium(c *gin.Context, what medium) error {
	x, err := s.script(c.Request.Context(), person(c), c.Param("species"))
	if err != nil {
		return err
	}
	if of := c.Query("of"); of != "" && of != x.face.ID {
		return ErrMissing // the page is of a patient who was kept from this person meanwhile
	}
	n, err := strconv.Atoi(c.Param("n"))
	if err != nil || n < 1 || n > len(x.entries) || x.entries[n-1].Act.Kind != rubric.Examine {
		return ErrMissing
	}
	of := "expert/" + x.of
	m, err := s.media.get(c.Request.Context(), clipKey{of, n, what.name}, func() (clip, error) {
		return what.make(x.patient, x.entries[n-1], s.phase(of, n))
	})
	if errors.Is(err, cases.ErrNothingThere) {
		return &Fault{Kind: ErrMissing, Cause: err}
	}
	if err != nil {
		return fmt.Errorf("expert: %w", err)
	}
	return s.serveClip(c, m)
}
