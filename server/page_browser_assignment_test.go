package server

import (
	"testing"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// An instructor makes a sitting in the browser: what is wrong is told beside what
// was typed, patients are listed and ticked, and before it is set the page says
// what stands against it.
func TestBrowserSetsASitting(t *testing.T) {
	b := openBrowser(t)
	ctx := t.Context()
	staff, err := b.server.AddPerson(ctx, "robin", "Robin Example", auth.Instructor, browserPassword)
	require.NoError(t, err)
	c, err := b.server.store.AddCohort(ctx, "Second year", staff.ID, true)
	require.NoError(t, err)
	require.NoError(t, b.server.store.SetMember(ctx, c.ID, b.who.ID, "student", store.Note{Deed: deedAddMember}))
	require.NoError(t, b.server.store.Accommodate(ctx, store.Accommodation{Cohort: c.ID, Person: b.who.ID, Extra: 25, Pauses: 10}, store.Note{Deed: deedAccommodate}))
	_, err = b.server.start(ctx, b.who, b.server.opaque("tansy"), "")
	require.NoError(t, err)

	b.signIn("robin", browserPassword)
	b.open("/cohorts/" + c.ID + "/assignments")
	b.shot("assignments-none")
	b.click(`a[href$="kind=sitting"]`)
	b.until(`document.querySelector("#title")`)
	b.shot("assignment-new")
	b.click(`.keep button`)
	b.until(`document.querySelector(".wrong-list")`)
	b.says(".wrong-list", "A title of 1 to 100 characters.")
	b.shot("assignment-wrong")

	opens := time.Now().UTC().Add(7 * 24 * time.Hour).Truncate(24 * time.Hour).Add(9 * time.Hour)
	b.run(`const set = (id, v) => { document.getElementById(id).value = v }; set("title", "Finals"); set("opens", "` + opens.Format(typedTime) + `"); set("closes", "` + opens.Add(2*time.Hour).Format(typedTime) + `"); set("minutes", "60");
		document.querySelector('input[value="tansy"]').checked = true`)
	b.click(`button[value="add"]`)
	b.until(`document.querySelector("#patient-2")`)
	b.run(`document.querySelector('select[name="s1-species"]').value = "rabbit"`)
	b.click(`button[value="show-1"]`)
	b.until(`document.querySelectorAll('input[name="s1-case"]:checked').length > 1`)
	require.Equal(t, "Finals", b.value(`document.getElementById("title").value`))
	require.Equal(t, "1", b.value(`document.querySelectorAll('input[name="s0-case"]:checked').length`))
	b.shot("assignment-patients")
	b.click(`.keep button`)
	b.until(`location.pathname.startsWith("/assignments/")`)
	b.says(".before", "Tansy was met in practice by 1 of 1 student of this cohort.")
	b.says(".assignment", "75 minutes")
	b.shot("assignment-draft")

	b.click(`.before button.main`)
	b.until(`document.querySelector(".wrong-list")`)
	b.run(`document.querySelector('input[name="uneven"]').checked = true; document.querySelector("#reason").value = "Nobody else is left"`)
	b.click(`.before button.main`)
	b.until(`document.querySelector(".notice")`)
	b.says(".state", "set")
	b.says(".assignment", "Nobody else is left")
	b.shot("assignment-set")
	b.open("/cohorts/" + c.ID + "/assignments")
	b.says(".assignments", "Finals")
	b.shot("assignments")
}
