package server

import (
	"context"
	"net/http"
	"strings"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// plays is how a student goes through a visit.
type plays func(*cases.Patient, rubric.Key) []rubric.Act

// typically is a middling student who errs in another way for another seed.
func typically(level int, seed uint64) plays {
	return func(p *cases.Patient, k rubric.Key) []rubric.Act { return robot.Typical(p, k, level, seed) }
}

// sitsThrough has a student sit a whole turn and hand in, one way of playing a
// patient, and waits for the marks.
func (sc *school) sitsThrough(login string, a store.Assignment, how ...plays) (string, []store.Attempt) {
	sc.t.Helper()
	ctx := context.Background()
	if now := sc.clock.Now(); now.Before(a.Opens) {
		sc.clock.Pass(a.Opens.Sub(now))
	}
	p, err := sc.s.store.Person(ctx, sc.personID(login))
	require.NoError(sc.t, err)
	who := facePerson(p)
	turn, err := sc.s.beginTurn(ctx, who, a.ID, "session of "+login)
	require.NoError(sc.t, err)
	for _, play := range how {
		row, err := sc.s.nextPatient(ctx, who, turn.row.ID, "session of "+login)
		require.NoError(sc.t, err)
		sc.plays(row, play)
	}
	return turn.row.ID, sc.markedOf(turn.row.ID)
}

// plays plays one visit to its end and hands it in.
func (sc *school) plays(row store.Attempt, play plays) {
	sc.t.Helper()
	ctx := context.Background()
	l, err := sc.s.liveOf(ctx, row)
	require.NoError(sc.t, err)
	defer sc.s.live.drop(row.ID)
	key, err := rubric.DecodeKey(row.Key)
	require.NoError(sc.t, err)
	played, err := l.patient.Play(play(l.patient, key))
	require.NoError(sc.t, err)
	for _, e := range played {
		require.NoError(sc.t, sc.s.keepPlayed(ctx, row.Transcript, row.Person, row.Started, e))
	}
	_, err = sc.s.store.Finish(ctx, row.Transcript, endedLeft)
	require.NoError(sc.t, err)
	sc.s.wakeWorker()
}

// markedOf waits until every visit of a turn is marked.
func (sc *school) markedOf(turn string) (all []store.Attempt) {
	sc.t.Helper()
	require.Eventually(sc.t, func() bool {
		var err error
		all, err = sc.s.store.VisitsOf(context.Background(), turn)
		for _, v := range all {
			if v.State != store.StateGraded {
				return false
			}
		}
		return err == nil
	}, 30*time.Second, 5*time.Millisecond)
	return all
}

// handsIn ends a student's turn before every patient was seen.
func (sc *school) handsIn(a store.Assignment, turn, login string) {
	sc.t.Helper()
	require.NoError(sc.t, sc.s.store.MoveClock(context.Background(), store.ClockDeed{Assignment: a.ID, Turn: turn, Kind: "finish", By: sc.personID(login)}, store.Note{Deed: "hand in"}))
	sc.s.turns.forget()
}

// sitting1 is a sitting of one patient.
func (sc *school) sitting1(id string) store.Assignment {
	return sc.sat(func(a *store.Assignment) { a.Slots = [][]string{{id}} })
}

// toMark is a visit's report as an instructor gets it.
func (c *client) toMark(id string) face.MarkedReport {
	c.sc.t.Helper()
	var r face.MarkedReport
	c.get("/api/v1/attempts/" + id + "/marks").is(http.StatusOK).into(&r)
	return r
}

// lineLike is the first line of a report that fits.
func lineLike(t interface {
	require.TestingT
	Helper()
}, r face.Report, fits func(face.Mark) bool) face.Mark {
	t.Helper()
	for _, d := range r.Domains {
		for _, l := range d.Lines {
			if fits(l) {
				return l
			}
		}
	}
	require.Fail(t, "no such line")
	return face.Mark{}
}

// elsewhere is an instructor of another cohort, and a student there.
func (sc *school) elsewhere() *client {
	sc.t.Helper()
	ctx := context.Background()
	other, err := sc.s.store.AddCohort(ctx, "Third year", "", false)
	require.NoError(sc.t, err)
	for login, role := range map[string]string{"stranger": "instructor", "pupil": "student"} {
		p, err := sc.s.AddPerson(ctx, login, "Person "+login, "student", testPassword)
		require.NoError(sc.t, err)
		require.NoError(sc.t, sc.s.store.SetMember(ctx, other.ID, p.ID, role, store.Note{Deed: "add member"}))
	}
	return sc.as("stranger")
}

// deedWordsOf are the words of the log, the newest first.
func (sc *school) deedWordsOf() []string {
	sc.t.Helper()
	notes, err := sc.s.store.Notes(context.Background(), store.NoteFilter{Limit: 1000})
	require.NoError(sc.t, err)
	var out []string
	for _, n := range notes {
		out = append(out, n.Deed)
	}
	return out
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// face is a person as the server knows who signed in.
func (sc *school) face(login string) face.Person {
	sc.t.Helper()
	p, err := sc.s.store.Person(context.Background(), sc.personID(login))
	require.NoError(sc.t, err)
	return facePerson(p)
}

// strikes strikes the first line that can be struck in somebody's visit to a case.
func strikes(t interface {
	require.TestingT
	Helper()
	Context() context.Context
}, sc *school, a store.Assignment, id string) rubric.Amendment {
	t.Helper()
	lines, err := sc.s.strikable(t.Context(), a, id)
	require.NoError(t, err)
	require.NotEmpty(t, lines)
	return rubric.Amendment{Strike: []string{lines[0].ID}}
}
