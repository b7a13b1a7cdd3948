package server

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// choose puts a file into the page's file field, as the browser's own dialogue does.
func (b *browser) choose(name, text string) {
	b.t.Helper()
	b.run(fmt.Sprintf(`{const t = new DataTransfer(); t.items.add(new File([%q], %q)); const f = document.querySelector("input[type=file]"); f.files = t.files; f.dispatchEvent(new Event("change", {bubbles: true}))}`, text, name))
}

// rosterText is a list with everything that a preview can show.
const rosterText = "number,login,name,email,role\n" +
	"60,,Linnet Sorrel,linnet@example.org,\n61,,Moss Hale,,\n62,,Bryony Tarn,bryony@example.org,\n" +
	",kim,Kim Sedge,kim@example.org,\n50,,Perry Wold,,\n63,,=SUM(A1:A9),,\n64,,,,\n65,,Una Thrift,,teacher\n"

// TestACohortFromItsMakingToItsSlips makes a cohort, enters its people from a
// roster, gives one more time, and prints slips: by keyboard wherever something
// is sent.
func TestACohortFromItsMakingToItsSlips(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	_, err := b.server.AddPerson(t.Context(), "ada", "Ada Example", auth.Instructor, browserPassword)
	require.NoError(t, err)
	perry, err := b.server.store.AddPerson(t.Context(), store.NewPerson{Login: "50", Number: "50", Role: "student", Name: "Perry Wold"})
	require.NoError(t, err)
	elsewhere, err := b.server.store.AddCohort(t.Context(), "Evening class", "", false)
	require.NoError(t, err)
	require.NoError(t, b.server.store.SetMember(t.Context(), elsewhere.ID, perry.ID, "student", store.Note{Deed: "test"}))

	b.signIn("ada", browserPassword)
	b.open("/cohorts")
	b.shot("cohorts-none")
	b.fill("#name", "Second year\r")
	b.until(`location.pathname.startsWith("/cohorts/")`)
	b.says(".notice", "The cohort is made")
	path := b.value("location.pathname")

	// Somebody by hand: found by name, put in by the keyboard.
	b.fill("#who", "kim ex\r")
	b.until(`document.querySelector(".found")`)
	b.shot("cohort-found")
	b.run(`document.querySelector(".found button").focus()`)
	b.press(kb.Enter)
	b.says(".notice", "Added")

	b.open(path + "/roster")
	b.choose("people.csv", "")
	b.run(`document.querySelector("[data-most]").dataset.most = "3"`)
	b.choose("people.csv", "too large")
	b.until(`!document.querySelector("[data-large]").hidden`)
	b.run(`document.querySelector("[data-most]").dataset.most = "8000000"`)
	b.choose("people.csv", rosterText)
	b.run(`document.querySelector("[data-most] button").focus()`)
	b.press(kb.Enter)
	b.says("main", "What people.csv would change")
	b.shot("roster-preview")
	b.run(`document.querySelector(".decide button").focus()`)
	b.press(kb.Enter)
	b.says("main", "The last roster was entered")
	b.shot("roster-done")

	b.open(path)
	b.says("#people-title ~ *, main", "Linnet Sorrel")
	b.run(`[...document.querySelectorAll("td a")].find((a) => a.textContent.includes("Kim Sedge")).focus()`)
	b.press(kb.Enter)
	b.until(`document.querySelector("#person")`)
	b.run(`document.querySelector("#extra").select()`)
	b.press("25" + kb.Tab + "0" + kb.Tab + "10" + kb.Tab + "Decided by the board." + kb.Tab + kb.Enter)
	b.says(".notice", "Kept with your name and reason")
	b.shot("cohort-person")
	b.run(`document.querySelector("#extra").select()`)
	b.press("900" + kb.Tab + kb.Tab + kb.Tab + "Again." + kb.Tab + kb.Enter)
	b.says("[role=alert]", "from 0 to 200")
	b.shot("cohort-wrong")

	b.open(path + "/slips")
	b.shot("slips-choose")
	b.run(`document.querySelector("button[value=print]").focus()`)
	b.press(kb.Enter)
	b.until(`document.querySelector(".slip")`)
	require.Equal(t, "4", b.value(`document.querySelectorAll(".slip").length`))
	require.True(t, strings.HasPrefix(b.value(`document.querySelector(".slip .link").textContent`), b.base+"/join?token="))
	b.shot("slips")
	code := b.value(`document.querySelector(".slip .code").textContent`)
	b.onPaper()

	// The person types the code.
	b.open("/join")
	b.shot("join-code")
	b.fill("#token", strings.ToLower(code)+"\r")
	b.until(`document.querySelector("#password")`)
	b.fill("#password", "harbour velvet nine\r")
	b.until(`location.pathname === "/"`)

	// A deleted cohort comes back.
	b.open("/login")
	b.run(`document.querySelector(".leave button").click()`)
	b.until(`location.pathname === "/login"`)
	b.signIn("ada", browserPassword)
	b.open(path)
	b.run(`document.querySelector("details").open = true`)
	b.fill("#confirm", "Second year\r")
	b.says(".notice", "The cohort is deleted")
	b.shot("cohorts-deleted")
	b.run(`document.querySelector(".found button").focus()`)
	b.press(kb.Enter)
	b.says(".notice", "The cohort is back")
}

// onPaper holds that what is printed is the slips and nothing else.
func (b *browser) onPaper() {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	require.NoError(b.t, err)
	shown := b.value(`[...document.querySelectorAll("header, footer, h1, form, .slip")].filter((e) => e.checkVisibility()).map((e) => e.className || e.tagName).filter((n) => n !== "slip").join(" ")`)
	require.Empty(b.t, shown, "printed besides the slips")
	if *shots != "" {
		png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
		require.NoError(b.t, err)
		require.NoError(b.t, os.WriteFile(filepath.Join(*shots, "slips-paper.png"), png, 0o644))
	}
	b.media()
}

// TestPeopleOfTheSchool: the coordinator searches, changes a role, makes a link.
func TestPeopleOfTheSchool(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	_, err := b.server.AddPerson(t.Context(), "head", "Hollis Example", auth.Coordinator, browserPassword)
	require.NoError(t, err)
	for i := range 60 {
		_, err := b.server.store.AddPerson(t.Context(), store.NewPerson{Login: fmt.Sprintf("s%03d", i), Role: "student", Name: fmt.Sprintf("Student %03d", i)})
		require.NoError(t, err)
	}
	b.signIn("head", browserPassword)
	b.open("/people")
	b.says("main", "Page 1 of 2, 62 people")
	b.fill("#find", "kim\r")
	b.until(`document.querySelectorAll("tbody tr").length === 1`)
	b.run(`document.querySelector("td a").focus()`)
	b.press(kb.Enter)
	b.until(`document.querySelector("#account")`)
	b.shot("people-account")
	b.run(`document.querySelector("#as").focus()`)
	b.press("i" + kb.Tab + "Joins the staff." + kb.Tab + kb.Enter)
	b.says(".notice", "The role is changed")
	require.Contains(t, b.value(`document.querySelector("tbody tr").textContent`), "instructor")
	b.run(`document.querySelector("td a").focus()`)
	b.press(kb.Enter)
	b.until(`document.querySelector("#account")`)
	b.run(`document.querySelector("#account form:last-of-type button").focus()`)
	b.press(kb.Enter)
	b.until(`document.querySelector("#link-title")`)
	b.shot("people-link")
}
