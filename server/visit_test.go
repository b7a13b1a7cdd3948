package server

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/server/face"

	"github.com/stretchr/testify/require"
)

// browser signs in with a cookie, which outlives a long visit.
func (sc *school) browser(login string) *client {
	sc.t.Helper()
	got := sc.anyone().send("POST", "/api/v1/session", signInForm{Login: login, Password: testPassword, Cookie: true}).is(http.StatusCreated)
	return &client{sc: sc, cookie: setCookie(sc.t, got, "dewclaw").Value}
}

// plan asks a robot what to do with the patient that was drawn for a visit.
func (v *visit) plan(acts func(*cases.Patient, rubric.Key) []rubric.Act) ([]rubric.Act, *cases.Patient, rubric.Key) {
	v.sc.t.Helper()
	row, err := v.sc.s.store.Attempt(v.sc.t.Context(), v.id)
	require.NoError(v.sc.t, err)
	key, err := rubric.DecodeKey(row.Key)
	require.NoError(v.sc.t, err)
	l, err := v.sc.s.liveOf(v.sc.t.Context(), row)
	require.NoError(v.sc.t, err)
	return acts(l.patient, key), l.patient, key
}

// perform does a planned act as a client with a clock would: the contact's seconds
// pass on the server's clock.
func (v *visit) perform(a rubric.Act) face.Answer {
	seconds := a.Seconds
	if a.Kind == rubric.Examine {
		a.Seconds = 0
	}
	got := v.do(sendable(a))
	if a.Kind == rubric.Examine {
		v.sc.clock.Pass(time.Duration(seconds) * time.Second)
	}
	v.sc.clock.Pass(time.Second / 5) // no hand is quicker than ten acts a second
	return got
}

// TestWholeVisitByAPI walks the whole path:
// start, every act of the best robot, media, finish, debrief. One patient stands
// for its species and situation; package cases tries them all.
func TestWholeVisitByAPI(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	var ids []string
	for _, k := range oneOfEach(sc.s.library.Cases()) {
		ids = append(ids, k.ID)
	}
	require.GreaterOrEqual(t, len(ids), 10, "the library holds patients for practice")
	for i, id := range ids {
		for _, track := range file.IDs()[i%2:][:1] {
			t.Run(id+"/"+track, func(t *testing.T) {
				sc.t = t
				c := sc.browser("student")
				var a face.Attempt
				c.send("POST", "/api/v1/attempts", attemptForm{Case: sc.s.opaque(id), Track: track}).is(http.StatusCreated).into(&a)
				v := &visit{client: c, id: a.ID}
				acts, patient, key := v.plan(robot.Ideal)
				for _, act := range acts {
					got := v.perform(act)
					for _, p := range got.Act.Percepts {
						require.Equal(t, p.Sense == "sound", p.Sound)
						require.Equal(t, p.Sense == "picture", p.Picture)
					}
				}
				report := v.finish()
				require.Equal(t, track, report.Track)
				require.Len(t, report.Domains, 6)
				require.Empty(t, report.Title, "a title is for staff")
				require.NotEmpty(t, report.Teaching)
				sum := face.Points(0)
				for _, d := range report.Domains {
					for _, line := range d.Lines {
						sum += line.Points
						require.NotEmpty(t, line.Reason, line.ID)
						require.NotEmpty(t, line.Label, line.ID)
					}
				}
				require.Equal(t, report.Total, sum, "the total is the sum of its lines")

				// The same plan played without a server earns the same.
				scheme, err := file.Builtin(track)
				require.NoError(t, err)
				played, err := patient.Play(acts)
				require.NoError(t, err)
				require.InDelta(t, int(rubric.Grade(scheme, key, played).Total), int(report.Total), 2000, "two points: the clock's whole seconds")
				require.GreaterOrEqual(t, int(report.Total), 80_000, "the best robot does well")
				require.True(t, report.Pass)
			})
		}
	}
	sc.t = t
	var list visitsAnswer
	sc.browser("student").get("/api/v1/attempts").is(http.StatusOK).into(&list)
	require.Len(t, list.Attempts, len(ids))
	for _, v := range list.Attempts {
		require.NotNil(t, v.Total)
		require.Empty(t, v.Title, "a title is for staff")
		require.Nil(t, v.Person, "one's own")
	}
	sc.browser("student2").get("/api/v1/attempts").is(http.StatusOK).into(&list)
	require.Empty(t, list.Attempts)
	sc.browser("instructor").get("/api/v1/attempts").is(http.StatusOK).into(&list)
	require.NotNil(t, list.Attempts[0].Person)
}

// TestVisitOutlivesItsCaseFile: a case that was changed or removed while a visit
// was open goes on, and is graded, as it was when the visit began.
func TestVisitOutlivesItsCaseFile(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	v.do(look)
	before := v.state()
	require.NoError(t, sc.s.Close())

	sc.cfg.Library = nil // the built-in library lacks the planted case
	sc.open()
	require.Nil(t, sc.s.library.Case(markCase))
	require.Equal(t, before, v.state())
	v.do(sentAct{Kind: "ask", Topic: "vomiting"})
	report := v.finish()
	require.Equal(t, markTeaching, report.Teaching)
}

func TestUnknownTrackIsRefused(t *testing.T) {
	sc := planted(t)
	p := sc.as("student").send("POST", "/api/v1/attempts", attemptForm{Case: sc.plantedID(), Track: "surgeon"}).problem(http.StatusUnprocessableEntity, "invalid")
	require.Equal(t, "/track", p.Errors[0].Pointer)
	require.True(t, strings.Contains(p.Errors[0].Detail, "technician") && strings.Contains(p.Errors[0].Detail, "veterinary"))
}
