package server

import (
	"context"
	"testing"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// The people of the matrix. Two cohorts: the school's own and another one.
const (
	owner     = "student"     // learns in the cohort; whose visits and turns these are
	classmate = "student2"    // learns in the same cohort
	stranger  = "stranger"    // learns in the other cohort
	teacher   = "instructor"  // teaches the cohort
	elsewhere = "elsewhere"   // teaches the other cohort
	both      = "both"        // teaches the other cohort and learns in the cohort
	head      = "coordinator" // the school's
	former    = "former"      // learnt in a cohort that was deleted, and nowhere else
	nobody    = ""            // is not signed in
)

// cast are those who ask.
var cast = []string{nobody, owner, classmate, stranger, teacher, elsewhere, both, head}

// roles are what the cast counts as: who teaches anywhere counts as instructor.
var roles = map[string]auth.Role{owner: auth.Student, classmate: auth.Student, stranger: auth.Student,
	teacher: auth.Instructor, elsewhere: auth.Instructor, both: auth.Instructor, head: auth.Coordinator}

// learning are the students of each cohort of the matrix, teaching its instructors.
var (
	learning = map[string][]string{"ours": {owner, classmate, both}, "theirs": {stranger}, "gone": {former, owner}}
	teaching = map[string][]string{"ours": {teacher}, "theirs": {elsewhere, both}, "gone": {teacher, elsewhere}}
)

// thing is an object of the school in one of its states.
type thing struct {
	kind, name, id string
	cohort         string // ours, theirs or gone
	owner          string // of a visit or turn
	state          string // of an assignment, or of a visit
	sitting        bool
	released       bool
	planted        bool // its patient is the planted one, who stands in a sitting of our cohort
	title          string
}

// world is a school with every kind of object in every state.
type world struct {
	*school
	cohorts map[string]string
	people  map[string]string
	things  []thing
	wrong   []string // what the walk found
	eye     *watch
}

func newWorld(t testing.TB, change ...func(*Config)) *world {
	w := &world{school: planted(t, change...), cohorts: map[string]string{}, people: map[string]string{}}
	w.addPeople()
	w.cohorts["ours"] = w.cohort
	w.add(thing{kind: "cohort", name: "cohort", id: w.cohort, cohort: "ours"})
	for _, name := range []string{"theirs", "gone"} {
		c, err := w.s.store.AddCohort(w.ctx(), "Zqcohort"+name+"zq", "", false)
		require.NoError(t, err)
		w.cohorts[name] = c.ID
	}
	w.add(thing{kind: "cohort", name: "another cohort", id: w.cohorts["theirs"], cohort: "theirs"})
	w.enrolAll()
	w.addDrills()
	w.addEarlier()
	w.addNow()
	w.deleteCohort()
	w.clock.Pass(turnsFor) // what was read before is not believed any more
	return w
}

func (w *world) ctx() context.Context { return context.Background() }

func (w *world) add(x thing) { w.things = append(w.things, x) }

// addPeople makes those whom the school does not have yet. Everybody's name is a mark.
func (w *world) addPeople() {
	for login, role := range map[string]auth.Role{stranger: auth.Student, elsewhere: auth.Instructor, both: auth.Student, former: auth.Student} {
		_, err := w.s.AddPerson(w.ctx(), login, markedName(login), role, testPassword)
		require.NoError(w.t, err)
	}
	for _, login := range []string{owner, classmate, stranger, teacher, elsewhere, both, head, former} {
		w.people[login] = w.personID(login)
		if login != head {
			w.add(thing{kind: "person", name: login, id: w.people[login], owner: login})
		}
	}
}

// markedName is a name that stands nowhere else.
func markedName(login string) string { return "Zqname" + login + "zq" }

func (w *world) enrolAll() {
	for role, where := range map[string]map[string][]string{"student": learning, "instructor": teaching} {
		for cohort, logins := range where {
			for _, login := range logins {
				require.NoError(w.t, w.s.store.SetMember(w.ctx(), w.cohorts[cohort], w.people[login], role, store.Note{Deed: "add member"}))
			}
		}
	}
}

// plan is a sitting that opened an hour ago, with the planted patient, unless changed.
func (w *world) plan(name, state string, change ...func(*store.Assignment)) store.Assignment {
	title := "Zqplan" + name + "zq"
	a := w.sat(append([]func(*store.Assignment){func(a *store.Assignment) {
		a.Title, a.State, a.Slots = title, state, [][]string{{markCase}, {"nettle"}}
		a.Opens, a.Closes = w.clock.Now().Add(-time.Hour), w.clock.Now().Add(2*time.Hour)
	}}, change...)...)
	x := thing{kind: "assignment", name: "assignment " + name, id: a.ID, cohort: "ours", state: state, sitting: a.Kind == string(exam.Sitting), title: title}
	for name, id := range w.cohorts {
		if id == a.Cohort {
			x.cohort = name
		}
	}
	w.add(x)
	return a
}

// turn has somebody begin an assignment and adds the turn and its first visit.
func (w *world) turn(name, login string, a store.Assignment) *visit {
	k, v := w.begun(w.at(login), a)
	w.add(thing{kind: "turn", name: "turn " + name, id: k.Turn, cohort: "ours", owner: login, sitting: true, title: a.Title})
	w.add(thing{kind: "attempt", name: "visit " + name, id: v.id, cohort: "ours", owner: login, state: store.StateOpen, sitting: a.Kind == string(exam.Sitting), planted: a.Slots[0][0] == markCase})
	v.do(look)
	v.do(sentAct{Kind: "examine", Step: "breathing.count"})
	return v
}

// last is the thing that was added last, to be changed.
func (w *world) last() *thing { return &w.things[len(w.things)-1] }

// addEarlier is what is over by now: marked and kept back, and marked and released.
func (w *world) addEarlier() {
	over := w.plan("over", store.AssignmentSet)
	w.turn("over", owner, over)
	w.last().state = store.StateGraded
	gone := w.plan("released", store.AssignmentSet, func(a *store.Assignment) { a.Slots = [][]string{{"tansy"}} })
	w.turn("released", owner, gone)
	w.last().state, w.last().released = store.StateGraded, true
	w.clock.Pass(3 * time.Hour)
	require.NoError(w.t, w.s.closeOverdue(w.ctx()))
	w.s.wakeWorker()
	require.Eventually(w.t, func() bool { n, err := w.s.store.ToGrade(w.ctx(), 9); return err == nil && len(n) == 0 }, 10*time.Second, 5*time.Millisecond)
	w.settle(w.last().id)
	require.NoError(w.t, w.s.store.ChangeAssignment(w.ctx(), gone.ID, map[string]any{"released": w.clock.Now()}, store.Note{Deed: "release"}))
}

// settle decides whatever waits for a person in a marked visit.
func (w *world) settle(id string) {
	row, err := w.s.store.Attempt(w.ctx(), id)
	require.NoError(w.t, err)
	m, err := w.s.marked(w.ctx(), row)
	require.NoError(w.t, err)
	for _, what := range m.Waits {
		seen, err := w.s.store.SeenOf(w.ctx(), row.Transcript)
		require.NoError(w.t, err)
		d := store.Decision{Transcript: row.Transcript, What: what, By: w.people[teacher], Reason: "looked at"}
		require.NoError(w.t, w.s.store.AddDecision(w.ctx(), d, seen, store.Note{Deed: "decide"}))
	}
}

// addNow is what is to come and what goes on.
func (w *world) addNow() {
	w.plan("draft", store.AssignmentDraft)
	w.plan("coming", store.AssignmentSet, func(a *store.Assignment) { a.Opens = w.clock.Now().Add(time.Hour) })
	w.plan("practice", store.AssignmentSet, func(a *store.Assignment) { a.Kind, a.Slots = string(exam.Practice), [][]string{{"fergus"}} })
	w.turn("running", owner, w.plan("open", store.AssignmentSet))
	paused := w.plan("paused", store.AssignmentSet)
	w.turn("paused", owner, paused)
	require.NoError(w.t, w.s.store.MoveClock(w.ctx(), store.ClockDeed{Assignment: paused.ID, Kind: string(exam.Pause), Reason: "x"}, store.Note{Deed: "pause"}))
	back := w.plan("withdrawn", store.AssignmentSet)
	w.turn("withdrawn", owner, back)
	require.NoError(w.t, w.s.store.ChangeAssignment(w.ctx(), back.ID, map[string]any{"state": store.AssignmentWithdrawn}, store.Note{Deed: "withdraw"}))
	for i := range w.things {
		if w.things[i].id == back.ID {
			w.things[i].state = store.AssignmentWithdrawn
		}
	}
	w.plan("elsewhere", store.AssignmentSet, func(a *store.Assignment) { a.Cohort, a.Slots = w.cohorts["theirs"], [][]string{{"fergus"}} })
	w.addPractice()
}

// addPractice are visits that nobody set.
func (w *world) addPractice() {
	for _, row := range []struct {
		name, login, kase, cohort string
		done                      bool
	}{
		{"at practice", owner, "fergus", "ours", false},
		{"at practice, marked", owner, "biscuit", "ours", true},
		{"at practice to a patient who is sealed elsewhere", stranger, markCase, "theirs", false},
		{"of somebody whose cohort was deleted", former, "fergus", "gone", true},
	} {
		v := w.at(row.login).begin(w.s.opaque(row.kase))
		v.do(look)
		v.do(sentAct{Kind: "examine", Step: "breathing.count"})
		x := thing{kind: "attempt", name: "visit " + row.name, id: v.id, cohort: row.cohort, owner: row.login, state: store.StateOpen, planted: row.kase == markCase}
		if row.done {
			v.finish()
			x.state = store.StateGraded
		}
		w.add(x)
	}
	w.addWaiting()
}

// addDrills are drills that wait for an answer, and one that is half done.
func (w *world) addDrills() {
	for login, kind := range map[string]string{owner: "murmurs", stranger: "condition", head: "which-limb"} {
		d := w.as(login).drill(kind, "dog")
		if login == head {
			d.take(d.item("", drillAnswerForm{Value: d.truthOf(w.people[login])}))
		}
		w.add(thing{kind: "drill", name: "drill of " + login, id: d.ID, owner: login})
	}
}

// addWaiting is a visit that was handed in and is never marked: its key is damaged.
func (w *world) addWaiting() {
	was, err := w.s.store.Attempt(w.ctx(), w.at(owner).begin(w.s.opaque("fergus")).id)
	require.NoError(w.t, err)
	row, err := w.s.store.AddAttempt(w.ctx(), store.NewAttempt{Person: was.Person, Case: was.Case, Track: was.Track, CaseHash: was.CaseHash, CatalogueHash: was.CatalogueHash,
		RubricHash: was.RubricHash, RangesHash: was.RangesHash, Engine: was.Engine, Seed: was.Seed, Key: store.Hidden("?")})
	require.NoError(w.t, err)
	_, err = w.s.store.Finish(w.ctx(), row.Transcript, endedLeft)
	require.NoError(w.t, err)
	w.add(thing{kind: "attempt", name: "visit that waits for its mark", id: row.ID, cohort: "ours", owner: owner, state: store.StateGrading})
}

// deleteCohort takes a cohort away with what was set there.
func (w *world) deleteCohort() {
	w.plan("gone", store.AssignmentSet, func(a *store.Assignment) { a.Cohort = w.cohorts["gone"] })
	require.NoError(w.t, w.s.store.ChangeCohort(w.ctx(), w.cohorts["gone"], "deleted", w.clock.Now(), store.Note{Deed: deedDelete}))
	w.add(thing{kind: "cohort", name: "deleted cohort", id: w.cohorts["gone"], cohort: "gone"})
}
