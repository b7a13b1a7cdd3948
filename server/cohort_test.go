package server

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// colleague makes an instructor who teaches no cohort yet.
func (sc *school) colleague(login string) string {
	p, err := sc.s.AddPerson(sc.t.Context(), login, "Person "+login, "instructor", testPassword)
	require.NoError(sc.t, err)
	return p.ID
}

func TestCohortsAreMadeAndManaged(t *testing.T) {
	sc := newSchool(t)
	sc.colleague("colleague")
	c, other := sc.as("instructor"), sc.as("colleague")
	var made cohortAnswer
	c.send("POST", "/api/v1/cohorts", nameForm{"  First   year "}).is(http.StatusCreated).into(&made)
	require.Equal(t, cohortAnswer{made.ID, "First year", false, 0, 1}, made)
	for _, name := range []string{"", "   ", strings.Repeat("x", 101)} {
		c.send("POST", "/api/v1/cohorts", nameForm{name}).problem(http.StatusUnprocessableEntity, "invalid")
	}
	path := "/cohorts/" + made.ID
	c.form(path, "deed=rename&name=Year+one").is(http.StatusSeeOther)
	require.Contains(t, string(c.get(path).is(http.StatusOK).body), "Year one")
	c.form(path, "deed=archive").is(http.StatusSeeOther)
	require.Contains(t, string(c.get("/cohorts").body), "Archived: 1")
	c.form(path, "deed=bring+back").is(http.StatusSeeOther)
	require.NotContains(t, string(c.get("/cohorts").body), "Archived: 1")
	require.Contains(t, string(c.form(path, "deed=delete&confirm=Year+two").is(http.StatusUnprocessableEntity).body), "Type the name of the cohort")
	c.form(path, "deed=explode").is(http.StatusUnprocessableEntity)

	// Another instructor's cohort is as absent as none.
	for _, path := range []string{path, path + "/roster", path + "/slips", "/cohorts/none"} {
		other.get(path).is(http.StatusNotFound)
	}
	other.form(path, "deed=delete&confirm=Year+one").is(http.StatusNotFound)
	other.get("/api/v1/cohorts/"+made.ID+"/members").problem(http.StatusNotFound, "missing")
	require.NotContains(t, string(other.get("/cohorts").body), "Year one")
	require.Contains(t, string(sc.as("coordinator").get("/cohorts").body), "Year one")

	// Deleted, it can be put back for 30 days, by those who managed it.
	require.Equal(t, "/cohorts", c.form(path, "deed=delete&confirm=Year+one").is(http.StatusSeeOther).header.Get("Location"))
	c.get(path).is(http.StatusNotFound)
	require.Contains(t, string(c.get("/cohorts").body), "Put back")
	require.NotContains(t, string(other.get("/cohorts").body), "Put back")
	back := "deed=put+back&cohort=" + made.ID
	other.form("/cohorts", back).is(http.StatusNotFound)
	sc.clock.Pass(29 * 24 * time.Hour)
	c = sc.as("instructor")
	c.form("/cohorts", back).is(http.StatusSeeOther)
	c.get(path).is(http.StatusOK)
	c.form(path, "deed=delete&confirm=Year+one").is(http.StatusSeeOther)
	sc.clock.Pass(31 * 24 * time.Hour)
	c = sc.as("instructor")
	require.NotContains(t, string(c.get("/cohorts").body), "Put back")
	require.Contains(t, string(c.form("/cohorts", back).is(http.StatusNotFound).body), "30 days")

	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{About: "cohort:" + made.ID})
	require.NoError(t, err)
	var deeds []string
	for _, n := range notes {
		require.Equal(t, sc.idOf("instructor"), n.By)
		deeds = append(deeds, n.Deed)
	}
	require.Equal(t, []string{"delete cohort", "put cohort back", "delete cohort", "bring cohort back", "archive cohort", "rename cohort", "make cohort"}, deeds)
}

func TestACohortWithAnOpenSittingStays(t *testing.T) {
	sc := newSchool(t)
	sc.sitting(30)
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort
	require.Contains(t, string(c.form(path, "deed=delete&confirm=Second+year").is(http.StatusConflict).body), "Finals")
	c.form(path, "deed=archive").is(http.StatusConflict)
	sc.clock.Pass(48 * time.Hour)
	sc.as("instructor").form(path, "deed=delete&confirm=Second+year").is(http.StatusSeeOther)
}

func TestMembersByHand(t *testing.T) {
	sc := newSchool(t)
	colleague := sc.colleague("colleague")
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort
	outside, err := sc.s.AddPerson(t.Context(), "outside", "Ödön Outside", "student", testPassword)
	require.NoError(t, err)

	found := string(c.get(path + "?add=" + url.QueryEscape("ödön OUT")).is(http.StatusOK).body)
	require.Contains(t, found, outside.ID)
	require.NotContains(t, string(c.get(path+"?add=student2").body), `name="person" value="`+sc.idOf("student2"), "who is in is not found")
	c.form(path, "deed=add&role=student&person="+outside.ID).is(http.StatusSeeOther)
	c.form(path, "deed=add&role=student&login=new.one&name=New+One&number=77&email=new@example.org").is(http.StatusSeeOther)
	var got membersAnswer
	c.get("/api/v1/cohorts/" + sc.cohort + "/members").is(http.StatusOK).into(&got)
	byLogin := map[string]memberAnswer{}
	for _, m := range got.Members {
		byLogin[m.Person.Login] = m
	}
	require.Len(t, got.Members, 5)
	require.Equal(t, "77", byLogin["new.one"].Number)
	require.False(t, byLogin["new.one"].Chosen)
	require.True(t, byLogin["outside"].Chosen)

	// What is wrong is said, and what was typed stays.
	bad := string(c.form(path, "deed=add&role=student&login=B+AD&name=Kept+Name&email=nowhere").is(http.StatusUnprocessableEntity).body)
	for _, told := range []string{"2 to 64 characters", "such as kim@example.org", `value="Kept Name"`} {
		require.Contains(t, bad, told)
	}
	require.Contains(t, string(c.form(path, "deed=add&role=student&login=student&name=Somebody").is(http.StatusUnprocessableEntity).body), "This login is taken")
	c.form(path, "deed=add&role=dean&person="+outside.ID).is(http.StatusUnprocessableEntity)
	c.form(path, "deed=add&role=student&person=nobody").is(http.StatusNotFound)

	// An instructor makes no new instructors; a coordinator does; a colleague is one already.
	for _, body := range []string{"deed=role&role=instructor&person=" + outside.ID, "deed=add&role=instructor&login=fresh&name=Fresh"} {
		require.Contains(t, string(c.form(path, body).is(http.StatusUnprocessableEntity).body), "Only a coordinator makes somebody an instructor")
	}
	c.form(path, "deed=add&role=instructor&person="+colleague).is(http.StatusSeeOther)
	sc.as("coordinator").form(path, "deed=role&role=instructor&person="+outside.ID).is(http.StatusSeeOther)
	sc.as("outside").get("/cohorts").is(http.StatusOK)

	// The last instructor is taken out by a coordinator only.
	for _, id := range []string{colleague, outside.ID} {
		c.form(path, "deed=take+out&person="+id).is(http.StatusSeeOther)
	}
	me := sc.idOf("instructor")
	for _, body := range []string{"deed=take+out&person=" + me, "deed=role&role=student&person=" + me} {
		require.Contains(t, string(c.form(path, body).is(http.StatusConflict).body), "the cohort’s last instructor")
	}
	sc.as("coordinator").form(path, "deed=take+out&person="+me).is(http.StatusSeeOther)
	sc.clock.Pass(3 * time.Second)
	c.get(path).is(http.StatusNotFound)
}

func TestMembersThroughTheAPI(t *testing.T) {
	sc := newSchool(t)
	c, path := sc.as("instructor"), "/api/v1/cohorts/"+sc.cohort+"/members"
	var m memberAnswer
	c.send("POST", path, memberForm{Login: "new.one", Name: "New One", Role: "student"}).is(http.StatusCreated).into(&m)
	require.Equal(t, "student", m.Person.Role)
	c.send("POST", path, memberForm{Login: "nobody", Role: "student"}).problem(http.StatusUnprocessableEntity, "invalid")
	c.send("POST", path, memberForm{Login: "new.one", Role: "none"}).is(http.StatusNoContent)
	c.send("POST", path, memberForm{Login: "new.one", Role: "none"}).problem(http.StatusNotFound, "missing")
	c.send("POST", path, memberForm{Login: "new.one", Role: "student"}).is(http.StatusCreated)
	sc.as("student").send("POST", path, memberForm{Login: "new.one", Role: "none"}).problem(http.StatusForbidden, "forbidden")
}

func TestAccommodations(t *testing.T) {
	sc := newSchool(t)
	c, path, kim := sc.as("instructor"), "/cohorts/"+sc.cohort, sc.idOf("student")
	form := func(extra, later, pauses, reason string) *reply {
		return c.form(path, "deed=accommodate&person="+kim+"&extra="+extra+"&later="+later+"&pauses="+pauses+"&reason="+reason)
	}
	for _, row := range []struct{ extra, later, pauses, reason, told string }{
		{"201", "0", "0", "board", "from 0 to 200"}, {"-1", "0", "0", "board", "from 0 to 200"}, {"25.5", "0", "0", "board", "from 0 to 200"},
		{"0", "99999", "0", "board", "from 0 to 44640"}, {"0", "0", "x", "board", "from 0 to 480"}, {"25", "0", "0", "", "by whose decision"},
	} {
		got := string(form(row.extra, row.later, row.pauses, row.reason).is(http.StatusUnprocessableEntity).body)
		require.Contains(t, got, row.told)
		require.Contains(t, got, `name="extra" value="`+row.extra+`"`, "what was typed stays")
	}
	form("25", "90", "10", "The+board").is(http.StatusSeeOther)
	require.Contains(t, string(c.get(path).body), "25 % more time, closes 1 h 30 min later, 10 min of pauses")
	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{About: "person:" + kim, Limit: 1})
	require.NoError(t, err)
	require.Equal(t, "The board", notes[0].Reason)
	require.Equal(t, sc.cohort, notes[0].Cohort)
	form("", "", "", "Over").is(http.StatusSeeOther)
	require.NotContains(t, string(c.get(path).body), "more time,")
	c.form(path, "deed=accommodate&person="+sc.idOf("instructor")+"&extra=10&reason=x").is(http.StatusUnprocessableEntity)
	c.form(path, "deed=accommodate&person=nobody&extra=10&reason=x").is(http.StatusNotFound)
}

func TestRolesInTheSchool(t *testing.T) {
	sc := newSchool(t)
	c, me := sc.as("coordinator"), sc.idOf("coordinator")
	change := func(id, role, reason string) *reply {
		return c.form("/people/"+id+"/role", "role="+role+"&reason="+reason)
	}
	require.Contains(t, string(change(me, "student", "tired").is(http.StatusConflict).body), "the school’s last coordinator")
	change(sc.idOf("student"), "dean", "x").is(http.StatusUnprocessableEntity)
	require.Contains(t, string(change(sc.idOf("student"), "instructor", "").is(http.StatusUnprocessableEntity).body), "Say why")
	change("nobody", "student", "x").is(http.StatusNotFound)
	sc.as("instructor").form("/people/"+me+"/role", "role=student&reason=x").is(http.StatusForbidden)
	change(sc.idOf("instructor"), "coordinator", "joins").is(http.StatusSeeOther)
	change(me, "student", "tired").is(http.StatusSeeOther)
	sc.clock.Pass(3 * time.Second)
	c.get("/settings").is(http.StatusForbidden)
	sc.as("instructor").get("/settings").is(http.StatusOK)
}

func TestPeopleAreSearchedAndPaged(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	for i := range 60 {
		sc.enrolled("many"+strings.Repeat("x", i%3)+string(rune('a'+i%26))+string(rune('a'+i/26)), "")
	}
	c := sc.as("coordinator")
	require.Contains(t, string(c.get("/people").is(http.StatusOK).body), "Page 1 of 2")
	require.Contains(t, string(c.get("/people?page=2").body), "Page 2 of 2")
	require.Contains(t, string(c.get("/people?page=99").body), "Page 2 of 2")
	one := string(c.get("/people?find=INSTRUCTOR").body)
	require.Contains(t, one, "Person instructor")
	require.NotContains(t, one, "Person student")
	require.Contains(t, string(c.get("/people?find=zzz").body), "Nobody has such a name")
	require.Contains(t, string(c.get("/cohorts/"+sc.cohort).body), "Page 1 of 2")
}
