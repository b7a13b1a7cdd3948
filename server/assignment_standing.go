package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"

	"dewclaw/cases"
	"dewclaw/cases/trial"
	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// standing is what should be known before an assignment is set.
type standing struct {
	a      store.Assignment
	cohort store.Cohort
	scheme *shelved // what it is or will be marked by; nil: it is gone

	students, staff []store.Member
	more            []store.Accommodation
	met             map[string]store.Met
	watched         map[string]int                // by case: students who saw it with an expert
	with            map[string][]store.Assignment // by case: the other assignments in which it stands
	draws           map[string]*trial.Draws       // by case, as far as they are measured
	taught          map[string]bool               // cohorts of which this person may read titles
	sealed          map[string]bool               // cases that are kept from this very person

	refused  []string // why it cannot be set
	against  []string // what needs a reason
	uneven   []string // what is not, or not yet, equally hard
	unevenOf int      // of so many cases
	cautions []string
}

// standing looks at everything that an assignment touches.
func (s *Server) standing(ctx context.Context, who face.Person, a store.Assignment, c store.Cohort) (*standing, error) {
	st := &standing{a: a, cohort: c, with: map[string][]store.Assignment{}, taught: map[string]bool{}}
	people, err := s.store.Members(ctx, c.ID)
	if err != nil {
		return nil, fmt.Errorf("standing: %w", err)
	}
	for _, m := range people {
		if m.Role == string(auth.Student) {
			st.students = append(st.students, m)
		} else {
			st.staff = append(st.staff, m)
		}
	}
	if st.more, err = s.store.Accommodations(ctx, c.ID); err != nil {
		return nil, fmt.Errorf("standing: %w", err)
	}
	if st.met, err = s.store.MetBefore(ctx, c.ID, a.ID); err != nil {
		return nil, fmt.Errorf("standing: %w", err)
	}
	if st.watched, err = s.store.WatchedIn(ctx, c.ID); err != nil {
		return nil, fmt.Errorf("standing: %w", err)
	}
	if st.sealed, err = s.sealedFrom(ctx, who.ID); err != nil {
		return nil, err
	}
	if err := s.standsWith(ctx, who, st); err != nil {
		return nil, err
	}
	if st.scheme, err = s.schemeIfAny(ctx, a); err != nil {
		return nil, err
	}
	if st.scheme != nil {
		if st.draws, err = s.measured(ctx, a); err != nil {
			return nil, err
		}
	}
	s.judge(st)
	return st, nil
}

// schemeIfAny is what an assignment is marked by; nil: a rubric that is gone.
func (s *Server) schemeIfAny(ctx context.Context, a store.Assignment) (*shelved, error) {
	if a.RubricHash == "" {
		return s.shelf.Load().current(a.Track), nil
	}
	return s.keptRubric(ctx, a.RubricHash)
}

// standsWith finds the other assignments of the same cases, and which cohorts'
// titles the person may read.
func (s *Server) standsWith(ctx context.Context, who face.Person, st *standing) error {
	for _, id := range casesOf(st.a) {
		all, err := s.store.AssignmentsWith(ctx, id)
		if err != nil {
			return fmt.Errorf("standing: %w", err)
		}
		now := s.now()
		st.with[id] = slices.DeleteFunc(all, func(o store.Assignment) bool {
			return o.ID == st.a.ID || !s.sealing(o) && !o.Closes.After(now)
		})
	}
	all, err := s.store.Cohorts(ctx)
	if err == nil {
		all, err = s.taught(ctx, who, all)
	}
	for _, c := range all {
		st.taught[c.ID] = true
	}
	return err
}

// casesOf are the cases of an assignment, each once, in their order.
func casesOf(a store.Assignment) []string {
	var out []string
	for _, id := range slices.Concat(a.Slots...) {
		if !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}

// judge says what refuses, what speaks against, what is uneven and what to mind.
func (s *Server) judge(st *standing) {
	sitting := exam.Kind(st.a.Kind) == exam.Sitting
	if st.scheme == nil {
		st.refused = append(st.refused, fmt.Sprintf("The rubric %s is not among the rubrics any more. Change the assignment and choose another.", st.a.Track))
	}
	if !st.a.Closes.After(s.now()) {
		st.refused = append(st.refused, "By the server's clock it would have closed already. Change when it closes.")
	}
	if !st.cohort.Archived.IsZero() {
		st.refused = append(st.refused, "The cohort is archived.")
	}
	if len(st.students) == 0 {
		st.cautions = append(st.cautions, "Nobody in the cohort is a student yet.")
	}
	shipped := 0
	for _, id := range casesOf(st.a) {
		k := s.library.Case(id)
		if k == nil {
			st.refused = append(st.refused, "A patient of it is no longer in the library: "+id+".")
			continue
		}
		if comesShipped(k) {
			shipped++
		}
		s.judgeCase(st, k, sitting)
	}
	if sitting && shipped > 0 {
		st.cautions = append(st.cautions, shippedWords(shipped, len(casesOf(st.a))))
	}
	if sitting {
		s.judgeDraws(st)
	}
}

// judgeCase looks at one case of it.
func (s *Server) judgeCase(st *standing, k *cases.Case, sitting bool) {
	name, met := s.caseName(st, k), st.met[k.ID]
	switch {
	case sitting && met.Practice > 0:
		st.against = append(st.against, fmt.Sprintf("%s was met in practice by %s.", name, ofStudents(met.Practice, len(st.students))))
	case !sitting && k.Use != practice:
		st.against = append(st.against, name+" is for exams only. Whoever meets it in practice cannot have it in an exam.")
	case !sitting && met.Practice > 0:
		st.cautions = append(st.cautions, fmt.Sprintf("%s was met before by %s.", name, ofStudents(met.Practice, len(st.students))))
	}
	if n := st.watched[k.ID]; n > 0 && sitting {
		st.against = append(st.against, fmt.Sprintf("%s was watched with an expert, who told all there is, by %s.", name, ofStudents(n, len(st.students))))
	}
	if met.Sitting > 0 {
		st.cautions = append(st.cautions, fmt.Sprintf("%s was met in an earlier sitting by %s.", name, ofStudents(met.Sitting, len(st.students))))
	}
	for _, other := range st.with[k.ID] {
		where := st.titleOf(other)
		switch {
		case s.sealing(other) && !sitting && other.Cohort == st.a.Cohort:
			st.refused = append(st.refused, fmt.Sprintf("%s is kept from practice for this cohort until the debriefs of %s are released.", name, where))
		case s.sealing(other):
			st.cautions = append(st.cautions, fmt.Sprintf("%s stands in %s too, which is open or to come.", name, where))
		case sitting && other.Cohort == st.a.Cohort:
			st.cautions = append(st.cautions, fmt.Sprintf("%s stands in %s too. There it is kept back from the moment this is set.", name, where))
		}
	}
}

// judgeDraws says which cases are not, or not yet, equally hard.
func (s *Server) judgeDraws(st *standing) {
	var unknown []string
	for _, id := range casesOf(st.a) {
		k := s.library.Case(id)
		if k == nil {
			continue
		}
		d, name := st.draws[id], s.caseName(st, k)
		switch {
		case d == nil:
			unknown = append(unknown, name)
		case d.Verdict == trial.SpreadAtFault:
			st.uneven = append(st.uneven, name+" draws patients that are not equally hard: its spread is at fault.")
		case d.Verdict == trial.NotJudged:
			st.uneven = append(st.uneven, name+" could not be judged. "+strings.Join(d.Reasons, " "))
		}
	}
	st.unevenOf = len(st.uneven) + len(unknown)
	if len(unknown) > 0 {
		st.uneven = append(st.uneven, "Not measured yet: "+strings.Join(unknown, ", ")+". Whoever begins before that gets any draw.")
	}
}

// allow says whether it may be set, and gives the reason to keep.
func (st *standing) allow(f setForm) (reason string, err error) {
	switch {
	case len(st.refused) > 0:
		return "", &Fault{Kind: ErrInvalid, Text: "It cannot be set. " + strings.Join(st.refused, " ")}
	case len(st.uneven) > 0 && !f.Uneven:
		return "", invalid("/uneven", "Tick that you know that the draws are not, or not yet, equally hard.")
	case len(st.against) > 0 || strings.TrimSpace(f.Reason) != "":
		return whySaid(f.Reason)
	}
	return "", nil
}

// detail is what the log keeps of how it was set: no title and no name.
func (st *standing) detail() string {
	words := []string{fmt.Sprintf("%s, rubric %s version %d", st.a.Kind, st.scheme.ID, st.scheme.Version)}
	if n := len(st.against); n > 0 {
		words = append(words, fmt.Sprintf("although %s against it", countIs(n, "case speaks", "cases speak")))
	}
	if n := st.unevenOf; n > 0 {
		words = append(words, fmt.Sprintf("before the draws were known to be equally hard of %s", countIs(n, "case", "cases")))
	}
	return strings.Join(words, "; ")
}

// caseName is how a case is called for this person.
func (s *Server) caseName(st *standing, k *cases.Case) string {
	if st.sealed[k.ID] {
		return "A patient that is kept from you"
	}
	if strings.EqualFold(k.Signalment.Name, k.ID) {
		return k.Signalment.Name
	}
	return k.Signalment.Name + " (" + k.ID + ")"
}

// titleOf is another assignment in words; a title is for those who manage its cohort.
func (st *standing) titleOf(a store.Assignment) string {
	kind := "a practice"
	if exam.Kind(a.Kind) == exam.Sitting {
		kind = "a sitting"
	}
	if !st.taught[a.Cohort] {
		return kind + " of another cohort"
	}
	return kind + " “" + a.Title + "”"
}

func ofStudents(n, all int) string {
	return fmt.Sprintf("%d of %s of this cohort", n, count(all, "student"))
}

func countIs(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

func shippedWords(n, all int) string {
	const why = "Students can read there what is hidden. For an exam that counts, take cases of your own."
	if n == all {
		return "All its cases come with the program, and the program is public. " + why
	}
	return fmt.Sprintf("%s with the program, and the program is public. %s", countIs(n, "case of it comes", "cases of it come"), why)
}

// shipped are the hashes of the case files that come with the program.
var shipped = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	names, err := fs.Glob(cases.BuiltinFiles(), "cases/*.yaml")
	if err != nil {
		panic(err) // the pattern is right
	}
	for _, name := range names {
		if text, err := fs.ReadFile(cases.BuiltinFiles(), name); err == nil {
			sum := sha256.Sum256(text)
			out[hex.EncodeToString(sum[:])] = true
		}
	}
	return out
})

// comesShipped reports whether a case is just as it comes with the program.
func comesShipped(k *cases.Case) bool { return shipped()[k.Hash] }
