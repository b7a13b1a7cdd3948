package cases

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric/file"
)

// CheckRubric reads a rubric file and checks the steps, sites, stages and
// handling acts that it names against the catalogues of the library: a name
// that none of them knows can never be earned.
func CheckRubric(l *Library, name string, data []byte) []Problem {
	var problems []Problem
	r, err := file.Parse(name, data)
	var bad *file.Error
	switch {
	case errors.As(err, &bad):
		for _, p := range bad.Problems {
			problems = append(problems, Problem{File: p.File, Line: p.Line, Col: p.Col, Message: p.Message})
		}
	case err != nil:
		problems = append(problems, Problem{File: name, Line: 1, Col: 1, Message: err.Error()})
	}
	for _, ref := range file.References(name, data) {
		if message := l.unknownReference(ref); message != "" {
			problems = append(problems, Problem{File: name, Line: ref.Line, Col: ref.Col, Message: message})
		}
	}
	if len(problems) == 0 {
		problems = l.checkEarnable(name, data, r)
	}
	return sortProblems(problems)
}

// unknownReference says why no catalogue knows what a rubric names; empty when
// one does.
func (l *Library) unknownReference(ref file.Reference) string {
	var known []string
	for _, species := range l.Species() {
		c := l.Catalogue(species)
		names := c.rubricNames(ref)
		if slices.Contains(names, ref.ID) {
			return ""
		}
		known = append(known, names...)
	}
	return fmt.Sprintf("no catalogue has the %s %q", ref.Kind, ref.ID) + nearestOf(ref.ID, known)
}

// rubricNames are the names that a reference of this kind may have here.
func (c *Catalogue) rubricNames(ref file.Reference) []string {
	switch {
	case ref.Kind == "stage":
		return ids(c.Stages, stageID)
	case ref.Kind == "site":
		step, _, _ := strings.Cut(ref.ID, "@")
		var names []string
		if s := c.Step(step); s != nil {
			for _, site := range s.Sites {
				names = append(names, step+"@"+site)
			}
		}
		return names
	case strings.HasPrefix(ref.ID, "handle:"):
		names := ids(c.Handling, handlingID)
		for i, id := range names {
			names[i] = "handle:" + id
		}
		return names
	}
	return ids(c.Steps, stepID)
}
