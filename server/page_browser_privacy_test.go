package server

import (
	"archive/zip"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// TestSomebodyIsErasedAndComesBack goes through erasure, hold and putting back by
// keyboard, reads it in the log, and looks at what somebody is told of themselves.
func TestSomebodyIsErasedAndComesBack(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	ctx := t.Context()
	ada, err := b.server.AddPerson(ctx, "ada", "Ada Example", auth.Coordinator, browserPassword)
	require.NoError(t, err)
	c, err := b.server.store.AddCohort(ctx, "Second year, autumn 2026", ada.ID, false)
	require.NoError(t, err)
	require.NoError(t, b.server.store.SetMember(ctx, c.ID, b.who.ID, "student", store.Note{By: ada.ID, Deed: deedAddMember}))
	require.NoError(t, b.server.store.Accommodate(ctx, store.Accommodation{Cohort: c.ID, Person: b.who.ID, Extra: 25, Pauses: 10}, store.Note{By: ada.ID, Deed: deedAccommodate, Reason: "By decision of the office for equal chances, letter of 3 March."}))
	old, err := b.server.store.AddCohort(ctx, "First year, 2020", ada.ID, false)
	require.NoError(t, err)
	past, err := b.server.store.AddPerson(ctx, store.NewPerson{Login: "sorrel", Role: "student", Name: "Linnet Sorrel", Number: "4711"})
	require.NoError(t, err)
	held, err := b.server.store.AddPerson(ctx, store.NewPerson{Login: "hale", Role: "student", Name: "Moss Hale"})
	require.NoError(t, err)
	require.NoError(t, b.server.store.SetMember(ctx, old.ID, past.ID, "student", store.Note{By: ada.ID, Deed: deedAddMember}))
	require.NoError(t, b.server.store.ChangeCohort(ctx, old.ID, "archived", b.now().Add(-3*365*24*time.Hour), store.Note{By: ada.ID, Deed: deedArchive}))
	require.NoError(t, b.server.store.ChangeSetting(ctx, retentionSetting, "24", store.Note{By: ada.ID, Deed: deedSetting}))
	require.NoError(t, b.server.hold(ctx, facePerson(ada), held.ID, "An appeal against the mark of the spring exam is open."))
	acts := func(p *cases.Patient, k rubric.Key) []rubric.Act { return robot.Typical(p, k, 2, 7)[:40] }
	require.NoError(t, b.server.PlayVisit(ctx, b.who.ID, b.server.Practice()[0], "veterinary", acts))

	b.signIn(browserLogin, browserPassword)
	b.until(`document.querySelector(".leave a[href='/me']")`)
	b.run(`document.querySelector(".leave a[href='/me']").focus()`)
	b.press(kb.Enter)
	b.says("h1", "What is kept of you")
	b.shot("me")
	b.ownPage()

	b.until(`location.pathname === "/" && document.querySelector(".leave button")`)
	b.run(`document.querySelector(".leave button").focus()`)
	b.press(kb.Enter)
	b.until(`location.pathname === "/login"`)
	b.signIn("ada", browserPassword)
	b.open("/leaving")
	b.fill("#find", "kim\r")
	b.until(`document.querySelector("a[href^='/leaving?of=']")`)
	b.open("/leaving?of=" + b.who.ID)
	b.fill("#reason", "Asked for it by letter.")
	b.fill("#confirm", "someone else\r")
	b.says(".two ~ *, .wrong", "Type the login")
	require.Equal(t, "Asked for it by letter.", b.value(`document.querySelector("#reason").value`))
	b.shot("leaving-one")
	b.run(`document.querySelector("#confirm").value = ""`)
	b.fill("#confirm", "kim\r")
	b.says(".notice", "signed out and in no list")
	b.says(".leaver", "Kim Example")
	b.shot("leaving")
	b.fill(".leaver input[name=reason]", "It was a mistake.\r")
	b.says(".notice", "The person is back")

	b.open("/log")
	b.says(".deeds", "put the person back: Kim Example")
	b.shot("log")
	b.fill("#who", "kim\r")
	b.until(`location.search.includes("who=kim") && document.querySelectorAll(".deeds li").length >= 4`)
	require.Equal(t, "0", b.value(`[...document.querySelectorAll(".deeds li")].filter((e) => e.textContent.includes("archived")).length`))
}

// ownPage opens the page of own data as who took it home does: from a file.
func (b *browser) ownPage() {
	b.t.Helper()
	dir := b.t.TempDir()
	name := filepath.Join(dir, "my-data.zip")
	f, err := os.Create(name)
	require.NoError(b.t, err)
	w := zip.NewWriter(f)
	me, err := b.server.store.Person(b.t.Context(), b.who.ID)
	require.NoError(b.t, err)
	o := &ownData{s: b.server, who: b.who, me: me, zip: w, at: b.now()}
	require.NoError(b.t, o.write(b.t.Context()))
	require.NoError(b.t, w.Close())
	require.NoError(b.t, f.Close())
	z, err := zip.OpenReader(name)
	require.NoError(b.t, err)
	defer func() { require.NoError(b.t, z.Close()) }()
	in, err := z.Open("my-data.html")
	require.NoError(b.t, err)
	page, err := io.ReadAll(in)
	require.NoError(b.t, err)
	require.NoError(b.t, os.WriteFile(filepath.Join(dir, "my-data.html"), page, 0o600))
	b.do(chromedp.Navigate("file://" + filepath.Join(dir, "my-data.html")))
	b.says("h1", "What is kept of Kim Example")
	b.says("article", "points")
	b.shot("own-data")
	b.open("/")
}
