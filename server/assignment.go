package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// What is done to assignments, in the words of the log.
const (
	deedMakeAssignment    = "make assignment"
	deedChangeAssignment  = "change assignment"
	deedSetAssignment     = "set assignment"
	deedWithdraw          = "withdraw assignment"
	deedCloseLater        = "close assignment later"
	deedCopyAssignment    = "copy assignment"
	deedDeleteAssignment  = "delete assignment"
	deedPutBackAssignment = "put assignment back"
)

// Bounds of an assignment; derived: beyond them a typing error is likelier than a wish.
const (
	mostSlots     = 20
	longestLimit  = 600
	mostTriesSet  = 20
	longestWindow = 2 * 366 * 24 * time.Hour
	farthestOpens = 5 * 366 * 24 * time.Hour // from now
)

// assignmentAsk is what somebody wants to be set. Minutes and Tries that are not
// given are until it closes, and any number or, for a sitting, one.
type assignmentAsk struct {
	Title, Kind, Track, Cue, Places string
	Slots                           [][]string // case ids
	Opens, Closes                   time.Time
	Minutes, Tries                  *int
	Shuffled                        bool
}

// managed is an assignment of a cohort that a person manages. Another is absent.
func (s *Server) managed(ctx context.Context, who face.Person, id string) (store.Assignment, store.Cohort, error) {
	a, err := s.store.Assignment(ctx, id)
	if err != nil {
		return a, store.Cohort{}, missing("assignment", err)
	}
	c, err := s.teaches(ctx, who, a.Cohort)
	if err != nil {
		return store.Assignment{}, c, err
	}
	return a, c, nil
}

// saveAssignment makes a draft, or changes an assignment that nobody has begun.
// One that is set becomes a draft again, so that all is looked at anew before it
// is set. Edition is what the person saw before the change.
func (s *Server) saveAssignment(ctx context.Context, who face.Person, cohort, id, edition string, ask assignmentAsk) (store.Assignment, error) {
	c, err := s.teaches(ctx, who, cohort)
	if err != nil {
		return store.Assignment{}, err
	}
	was, deed := store.Assignment{}, deedMakeAssignment
	if id != "" {
		deed = deedChangeAssignment
		if was, _, err = s.managed(ctx, who, id); err != nil {
			return was, err
		}
		if edition != editionOf(was) {
			return was, changedMeanwhile()
		}
		if err := s.seesAll(ctx, who, was); err != nil {
			return was, err
		}
	}
	if !c.Archived.IsZero() {
		return was, &Fault{Kind: ErrNotNow, Text: "This cohort is archived. Bring it back to set something for it."}
	}
	if err := s.checkAsk(ctx, who, ask); err != nil {
		return was, err
	}
	a := ask.assignment(was)
	if id == "" {
		a.Cohort, a.MadeBy = c.ID, who.ID
	}
	note := store.Note{By: who.ID, Deed: deed}
	if was.State == store.AssignmentSet {
		note.Detail = "taken back to a draft"
	}
	a, err = s.store.SaveAssignment(ctx, a, note)
	if err != nil {
		return a, begunAlready(err)
	}
	s.turns.forget()
	s.wakeMeasure()
	return a, nil
}

// assignment lays what was asked over what was there before.
func (ask assignmentAsk) assignment(a store.Assignment) store.Assignment {
	a.Title, a.Kind, a.Track, a.Cue, a.Places = tidy(ask.Title), ask.Kind, ask.Track, ask.Cue, ask.Places
	a.Opens, a.Closes, a.Slots, a.Shuffled = ask.Opens, ask.Closes, ask.Slots, ask.Shuffled
	a.State, a.RubricHash, a.Minutes, a.Tries = store.AssignmentDraft, "", 0, 0
	if ask.Minutes != nil {
		a.Minutes = *ask.Minutes
	}
	switch {
	case ask.Tries != nil:
		a.Tries = *ask.Tries
	case exam.Kind(a.Kind) == exam.Sitting:
		a.Tries = 1
	}
	return a
}

// tidy is a title with single spaces.
func tidy(title string) string { return strings.Join(strings.Fields(title), " ") }

// checkAsk says all that is wrong with what is asked.
func (s *Server) checkAsk(ctx context.Context, who face.Person, ask assignmentAsk) error {
	var wrong []FieldProblem
	say := func(bad bool, pointer, detail string) {
		if bad {
			wrong = append(wrong, FieldProblem{pointer, detail})
		}
	}
	title := tidy(ask.Title)
	n := utf8.RuneCountInString(title)
	say(n == 0 || n > longestName || len(title) > store.MaxName || !utf8.ValidString(title) || strings.ContainsFunc(title, unicode.IsControl),
		"/title", fmt.Sprintf("A title of 1 to %d characters.", longestName))
	say(ask.Kind != string(exam.Practice) && ask.Kind != string(exam.Sitting), "/kind", "practice or sitting.")
	say(s.shelf.Load().current(ask.Track) == nil, "/track", "There is no such rubric, or no longer. One of "+strings.Join(s.shelf.Load().ids(), ", ")+".")
	say(!slices.Contains(exam.Cues, ask.Cue), "/cue", "One of "+strings.Join(exam.Cues, ", ")+".")
	say(!slices.Contains(exam.Places, ask.Places), "/places", "One of "+strings.Join(exam.Places, ", ")+".")
	say(ask.Minutes != nil && (*ask.Minutes < 1 || *ask.Minutes > longestLimit), "/minutes", fmt.Sprintf("1 to %d minutes, or nothing: until it closes.", longestLimit))
	say(ask.Tries != nil && (*ask.Tries < 1 || *ask.Tries > mostTriesSet), "/tries", fmt.Sprintf("1 to %d, or nothing: any number for practice, one for a sitting.", mostTriesSet))
	wrong = append(wrong, s.wrongWindow(ask)...)
	slots, err := s.wrongSlots(ctx, who, ask.Slots)
	if err != nil {
		return err
	}
	if wrong = append(wrong, slots...); len(wrong) > 0 {
		return &Fault{Kind: ErrInvalid, Text: "Nothing was saved.", Fields: wrong}
	}
	return nil
}

// wrongWindow is what is wrong with the times.
func (s *Server) wrongWindow(ask assignmentAsk) []FieldProblem {
	now, window := s.now(), ask.Closes.Sub(ask.Opens)
	switch {
	case ask.Opens.IsZero() || ask.Closes.IsZero():
		return nil // said where they were read
	case ask.Opens.Year() < 2000 || ask.Opens.Sub(now) > farthestOpens:
		return []FieldProblem{{"/opens", "From the year 2000 to five years from now."}}
	case window <= 0:
		return []FieldProblem{{"/closes", "It must close after it opens."}}
	case window > longestWindow:
		return []FieldProblem{{"/closes", "At most two years after it opens."}}
	case !ask.Closes.After(now):
		return []FieldProblem{{"/closes", "By the server's clock this has passed; it must close later than now."}}
	case ask.Minutes != nil && minutes(*ask.Minutes) > window && *ask.Minutes <= longestLimit:
		return []FieldProblem{{"/minutes", fmt.Sprintf("It is open for %s only; nobody could use more.", spell(window))}}
	}
	return nil
}

// spell is a length of time in words.
func spell(d time.Duration) string {
	switch {
	case d%(24*time.Hour) == 0 && d > 0:
		return count(int(d.Hours())/24, "day")
	case d%time.Hour == 0 && d > 0:
		return count(int(d.Hours()), "hour")
	case d > 3*time.Hour:
		return fmt.Sprintf("%d h %d min", int(d.Hours()), int(d.Minutes())%60)
	}
	return count(int(d.Minutes()), "minute")
}

// wrongSlots is what is wrong with the patients.
func (s *Server) wrongSlots(ctx context.Context, who face.Person, slots [][]string) ([]FieldProblem, error) {
	if n := len(slots); n == 0 || n > mostSlots {
		return []FieldProblem{{"/slots", fmt.Sprintf("1 to %d patients.", mostSlots)}}, nil
	}
	sealed, err := s.sealedFrom(ctx, who.ID)
	if err != nil {
		return nil, err
	}
	var wrong []FieldProblem
	for i, ids := range slots {
		at := fmt.Sprintf("/slots/%d", i)
		if len(ids) == 0 {
			wrong = append(wrong, FieldProblem{at, fmt.Sprintf("Patient %d: none is chosen. Tick one for everybody, or several to draw from.", i+1)})
		}
		for k, id := range ids {
			switch {
			case s.library.Case(id) == nil, sealed[id]:
				wrong = append(wrong, FieldProblem{at, fmt.Sprintf("Patient %d: there is no such case in the library.", i+1)})
			case slices.Contains(ids[:k], id):
				wrong = append(wrong, FieldProblem{at, fmt.Sprintf("Patient %d: a case stands there twice.", i+1)})
			}
		}
	}
	if _, ok := drawApart(slots, inOrder); !ok && len(wrong) == 0 {
		wrong = append(wrong, FieldProblem{"/slots", "A student would have to meet the same patient twice. Choose more cases to draw from, or fewer patients."})
	}
	return wrong, nil
}

// seesAll refuses to change an assignment of which a patient is kept from this
// very person, who learns in another cohort: the form would show which it is.
func (s *Server) seesAll(ctx context.Context, who face.Person, a store.Assignment) error {
	sealed, err := s.sealedFrom(ctx, who.ID)
	if err == nil && slices.ContainsFunc(casesOf(a), func(id string) bool { return sealed[id] }) {
		err = &Fault{Kind: ErrNotNow, Text: "A patient of this assignment stands in a sitting of your own and is kept from you. Somebody else must change it."}
	}
	return err
}

// editionOf names an assignment as it stands: another after any change.
func editionOf(a store.Assignment) string {
	text, err := json.Marshal([]any{a.ID, a.Title, a.Kind, a.Track, a.RubricHash, a.Opens.UnixMicro(), a.Closes.UnixMicro(), a.Minutes, a.Tries, a.Shuffled, a.Cue, a.Places, a.State, a.Slots})
	if err != nil {
		panic(err) // texts and numbers only
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

func changedMeanwhile() error {
	return &Fault{Kind: ErrNotNow, Text: "Somebody changed this assignment after you opened the page. Nothing of yours was done; open it again and look."}
}

// begunAlready says in words that what is asked may not change any more.
func begunAlready(err error) error {
	if errors.Is(err, store.ErrClosed) {
		return &Fault{Kind: ErrNotNow, Text: "Somebody has begun this assignment, so that what is asked may not change any more. It can close later, be withdrawn or be copied.", Cause: err}
	}
	return fmt.Errorf("assignment: %w", err)
}
