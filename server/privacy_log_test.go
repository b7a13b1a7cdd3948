package server

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"testing"

	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// aDay is a day of a school in which everything personal is a planted word.
func aDay(sc *school) {
	c := sc.as("coordinator")
	roster := "Login,Name,Number,Email\nzqloginzq,Zqnamezq Example,zqnumberzq,zqmailzq@example.org\n"
	c.header = map[string]string{"Content-Type": "application/octet-stream"}
	c.send("POST", "/api/v1/cohorts/"+sc.cohort+"/roster", roster).is(http.StatusOK)
	c.header = nil
	p, err := sc.s.AddPerson(sc.t.Context(), "zqpersonzq", "Zqpersonzq Example", auth.Student, "zqsecretzq lantern ferry")
	require.NoError(sc.t, err)
	sc.enrol(p.ID, "student")
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "zqpersonzq", Password: "zqwrongzq lantern"}).is(http.StatusUnauthorized)
	sc.anyone().post("/login", "login", "zqnobodyzq", "password", "zqwrongzq")
	var got tokenAnswer
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "zqpersonzq", Password: "zqsecretzq lantern ferry"}).is(http.StatusCreated).into(&got)
	student := &client{sc: sc, token: got.Token}
	var list casesAnswer
	student.get("/api/v1/cases").into(&list)
	v := student.begin(dogOf(sc, list))
	handover(v)
	v.try(sentAct{Kind: "zqkindzq", Step: "zqstepzq"})
	student.get("/zqpathzq?zqqueryzq=1").is(http.StatusNotFound)
	student.get("/ranges?species=zqqueryzq")
	v.finish()
	student.get("/visits/" + v.onward().id + "/debrief").is(http.StatusOK)
	student.get("/me").is(http.StatusOK)
	student.get("/me/data").is(http.StatusOK)
	c.post("/cohorts", "deed", "make", "name", "Zqcohortzq")
	c.get("/people?find=zqfindzq").is(http.StatusOK)
	c.get("/log?who=zqpersonzq").is(http.StatusOK)
	c.get("/log/csv?who=zqpersonzq").is(http.StatusOK)
	c.post("/people", "login", "zqinvitedzq", "name", "Zqinvitedzq Example", "role", "student")
	c.post("/leaving/"+p.ID, "deed", "hold", "why", "zqholdzq")
	c.post("/leaving/"+p.ID, "deed", "leave", "reason", "zqreasonzq", "confirm", "zqpersonzq")
	c.post("/leaving/"+p.ID, "deed", "lift")
	c.post("/leaving/"+p.ID, "deed", "leave", "reason", "zqreasonzq", "confirm", "zqpersonzq").is(http.StatusSeeOther)
	sc.clock.Pass(store.LeaveFor)
	require.NoError(sc.t, sc.s.sweepPeople(context.Background()))
}

// Nothing of a whole day that is personal, no word, title, path or query, is in
// what is logged or counted.
func TestNothingPersonalIsLoggedOrCounted(t *testing.T) {
	t.Parallel()
	logged := new(syncBuffer)
	sc := planted(t, func(c *Config) {
		c.Log = slog.New(slog.NewJSONHandler(logged, &slog.HandlerOptions{Level: slog.LevelDebug}))
	})
	aDay(sc)
	w := httptest.NewRecorder()
	sc.s.private().ServeHTTP(w, httptest.NewRequest("GET", "/metrics", nil))
	for name, text := range map[string]string{"the log": logged.String(), "the figures": w.Body.String()} {
		require.Greater(t, len(text), 2000, name)
		require.NotRegexp(t, `[zZ]q[a-z]+zq`, text, name) // ids are in capitals
		require.NotContains(t, text, testPassword, name)
		require.NotContains(t, text, "Person ", name)
		require.NotContains(t, text, "?", "%s holds no query", name)
		for _, id := range []string{sc.idOf("student"), sc.idOf("coordinator"), sc.cohort} {
			require.NotContains(t, text, id, name)
		}
	}
	require.Contains(t, logged.String(), `"route":"/leaving/:id"`)
	require.Contains(t, w.Body.String(), `route="/me/data"`)
}
