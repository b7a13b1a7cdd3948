package server

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestWhoMayMakeWhoseLink(t *testing.T) {
	sc := newSchool(t)
	colleague := sc.colleague("colleague")
	outside, err := sc.s.AddPerson(t.Context(), "outside", "Out Side", "student", testPassword)
	require.NoError(t, err)
	path := "/cohorts/" + sc.cohort + "/slips"
	one := func(by, id string) int { return sc.as(by).form(path, "person="+id).code }
	require.Equal(t, http.StatusOK, one("instructor", sc.idOf("student")))
	require.Equal(t, http.StatusNotFound, one("instructor", outside.ID), "not of the cohort")
	require.Equal(t, http.StatusNotFound, one("instructor", sc.idOf("coordinator")))
	require.Equal(t, http.StatusNotFound, one("colleague", sc.idOf("student")), "not the colleague's cohort")
	require.Equal(t, http.StatusForbidden, one("student", sc.idOf("student2")))

	// A colleague who is put into the cohort, as a student even, cannot be taken over.
	for _, role := range []string{"instructor", "student"} {
		sc.enrol(colleague, role)
		require.Equal(t, http.StatusNotFound, one("instructor", colleague), role)
	}
	sc.enrol(sc.idOf("coordinator"), "student")
	require.Equal(t, http.StatusNotFound, one("instructor", sc.idOf("coordinator")))
	slips := string(sc.as("instructor").form(path, "choice=all").is(http.StatusOK).body)
	require.Equal(t, 2, strings.Count(slips, `class="slip"`), "the two students and nobody else")
	// Nor is somebody who teaches elsewhere only.
	other, err := sc.s.store.AddCohort(t.Context(), "Other", sc.idOf("student2"), true)
	require.NoError(t, err)
	require.NotEmpty(t, other.ID)
	require.Equal(t, http.StatusNotFound, one("instructor", sc.idOf("student2")))
	require.Equal(t, 1, strings.Count(string(sc.as("instructor").form(path, "choice=all").body), `class="slip"`))

	// A coordinator makes anybody's.
	for _, id := range []string{outside.ID, colleague, sc.idOf("student")} {
		require.Regexp(t, linkShape, string(sc.as("coordinator").form("/people/"+id+"/link", "").is(http.StatusOK).body))
	}
	sc.as("coordinator").form("/people/nobody/link", "").is(http.StatusNotFound)
	sc.as("instructor").form("/people/"+outside.ID+"/link", "").is(http.StatusForbidden)
}

func TestSlipsAreShownOnceAndReplaceEarlierOnes(t *testing.T) {
	t.Parallel()
	sc := newSchool(t, func(c *Config) { c.URL = "https://school.example" })
	const many = 310
	for i := range many {
		sc.enrolled(fmt.Sprintf("s%04d", i), "")
	}
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort+"/slips"
	require.Contains(t, string(c.get(path).is(http.StatusOK).body), fmt.Sprintf("not chosen a password yet: %d", many))
	first := string(c.form(path, "choice=waiting&deed=print").is(http.StatusOK).body)
	links := linkShape.FindAllString(first, -1)
	require.Len(t, links, many)
	seen := map[string]bool{}
	for _, l := range links {
		require.True(t, strings.HasPrefix(l, "https://school.example/join?token="), l)
		seen[l] = true
	}
	require.Len(t, seen, many)
	require.NotRegexp(t, linkShape, string(c.get(path).body), "nothing is shown again")
	require.Equal(t, "no-store", c.get(path).header.Get("Cache-Control"))

	// The code as it is typed: groups, small letters, signs that are mistaken.
	token := links[0][strings.Index(links[0], "=")+1:]
	code := inGroups(token)
	require.Contains(t, first, code)
	require.Equal(t, token, strings.ReplaceAll(code, " ", ""))
	require.Equal(t, token, typedToken(strings.ToLower(code)))
	require.Equal(t, token, typedToken(strings.NewReplacer("O", "0", "I", "1", "B", "8").Replace(code)))
	require.Contains(t, string(sc.anyone().get("/join").is(http.StatusOK).body), "Type the code of your slip")
	sc.anyone().form("/join", "token="+strings.ReplaceAll(strings.ToLower(code), " ", "+")+"&password=harbour+velvet+nine").is(http.StatusSeeOther)

	// Fresh ones make the earlier unused ones stop working, and leave out who has a password.
	second := linkShape.FindAllString(string(c.form(path, "choice=waiting&deed=print").is(http.StatusOK).body), -1)
	require.Len(t, second, many-1)
	old := links[1][strings.Index(links[1], "=")+1:]
	require.Equal(t, http.StatusNotFound, sc.anyone().form("/join", "token="+old+"&password=harbour+velvet+ten").code)
	fresh := second[0][strings.Index(second[0], "=")+1:]
	sc.clock.Pass(inviteFor)
	require.Equal(t, http.StatusNotFound, sc.anyone().form("/join", "token="+fresh+"&password=harbour+velvet+ten").code, "it has expired")
}

// A link that is used ends every session that the old password opened.
func TestAResetEndsSessions(t *testing.T) {
	sc := newSchool(t)
	victim := sc.as("student")
	page := string(sc.as("instructor").form("/cohorts/"+sc.cohort+"/slips", "person="+sc.idOf("student")).is(http.StatusOK).body)
	link := linkShape.FindString(page)
	victim.get("/api/v1/session").is(http.StatusOK)
	sc.anyone().form("/join", "token="+link[strings.Index(link, "=")+1:]+"&password=harbour+velvet+nine").is(http.StatusSeeOther)
	sc.clock.Pass(3 * time.Second)
	victim.get("/api/v1/session").problem(http.StatusUnauthorized, "token")
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "student", Password: testPassword}).problem(http.StatusUnauthorized, "login")
}
