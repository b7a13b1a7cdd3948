package server

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/server/face"

	"github.com/stretchr/testify/require"
)

// Who does not see the drawing hears how the animal stands or sits in it.
func TestRoomSaysHowTheAnimalIsDrawn(t *testing.T) {
	for _, c := range []struct{ species, label, want string }{
		{"rabbit", "Rabbit", ">Rabbit crouching, head to the left:"},
		{"cattle", "Cow", ">Cow standing, head to the left:"},
	} {
		p := roomPageOf(face.Attempt{Patient: face.Patient{Species: c.species}}, &face.Catalogue{Label: c.label})
		require.Contains(t, string(p.Animal), c.want)
	}
}

// A list of visits and a debrief tell the time of the school, not of the machine:
// in Kathmandu it is 5:45 hours later than at Greenwich the whole year.
func TestVisitsAreShownInTheSchoolsTime(t *testing.T) {
	sc := newSchool(t)
	require.NoError(t, sc.s.store.SetSetting(t.Context(), zoneSetting, "Asia/Kathmandu"))
	v := sc.as("student").begin("")
	began := v.state().Started.UTC()
	want := began.Add(5*time.Hour + 45*time.Minute).Format("2 Jan 2006, 15:04")
	require.Contains(t, string(sc.browser("student").get("/").is(http.StatusOK).body), want)
	v.finish()
	staff := sc.browser("instructor")
	for _, path := range []string{"/", "/visits/" + v.id + "/debrief"} {
		page := string(staff.get(path).is(http.StatusOK).body)
		require.Contains(t, page, want, path)
		require.NotContains(t, page, began.Format("2 Jan 2006, 15:04"), path)
	}
}

// The room of a calf of six weeks draws no udder, that of a cow does.
func TestACalfIsDrawnWithoutUdder(t *testing.T) {
	sc := newSchool(t)
	lines := func(caseID string) int {
		v := sc.as("student").begin(sc.s.opaque(caseID))
		return strings.Count(string(sc.browser("student").get("/visits/"+v.id).is(http.StatusOK).body), `<path class="line"`)
	}
	require.Equal(t, lines("buttercup")-1, lines("cowslip"), "the one line of the udder")
}
