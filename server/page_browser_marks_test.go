package server

import (
	"fmt"
	"testing"
	"time"

	"dewclaw/cases/robot"
	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// markingDay is a school with a sitting that everybody has sat: one student bit by
// the cat, eleven who did better.
func markingDay(t *testing.T, b *browser) (*school, store.Assignment) {
	t.Helper()
	sc := &school{t: t, s: b.server, clock: newTestClock()}
	c, err := b.server.store.AddCohort(t.Context(), "Second year", "", false)
	require.NoError(t, err)
	sc.cohort = c.ID
	for login, name := range map[string]string{"ada": "Ada Example", "robin": "Robin Example"} {
		p, err := b.server.AddPerson(t.Context(), login, name, auth.Instructor, browserPassword)
		require.NoError(t, err)
		sc.enrol(p.ID, "instructor")
	}
	logins := []string{browserLogin}
	for i, name := range []string{"Alva Berg", "Bo Castel", "Cleo Dahl", "Dev Engel", "Eli Falk", "Finn Gray", "Gwen Holt", "Hal Ivers", "Ida Jansen", "Jo Keller", "Kit Lund"} {
		login := fmt.Sprintf("pupil%d", i)
		p, err := b.server.store.AddPerson(t.Context(), store.NewPerson{Login: login, Name: name, Role: "student", Number: fmt.Sprintf("27-%04d", 101+i)})
		require.NoError(t, err)
		sc.enrol(p.ID, "student")
		logins = append(logins, login)
	}
	sc.enrol(b.who.ID, "student")
	now := b.now()
	a := sc.sat(func(a *store.Assignment) {
		a.Title, a.Slots, a.Opens, a.Closes, a.Minutes = "Spring sitting", [][]string{{"tinker"}}, now.Add(-time.Hour), now.Add(time.Hour), 50
	})
	for i, login := range logins[:len(logins)-1] {
		how := typically(1+i%5, uint64(i))
		if i == 1 {
			how = robot.Reckless
		}
		sc.sitsThrough(login, a, how)
	}
	return sc, a
}

// TestInstructorMarksByHand goes through a day of marking by keyboard: decides what
// waits, marks a line, releases, answers a review, and strikes a line with a second
// instructor's signature.
func TestInstructorMarksByHand(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	sc, a := markingDay(t, b)
	b.signIn("ada", browserPassword)
	marks := "/assignments/" + a.ID + "/marks"
	b.open(marks)
	b.says("main", "Can still sit: Kit Lund")
	b.shot("marks")
	b.open(marks + "?of=" + sc.personID("pupil10"))
	b.shot("marks-missed")

	// The critical event is decided, and a line marked by hand.
	b.open(marks)
	b.run(`[...document.querySelectorAll(".all-marks tr")].find((r) => r.textContent.includes("Alva Berg")).querySelector("td a").click()`)
	b.until(`document.querySelector(".marking")`)
	b.shot("markvisit")
	b.run(`document.querySelector(".held input[type=radio]").focus()`)
	b.press(" " + kb.Tab + "Seen by two of us; the sign came before." + kb.Tab + kb.Enter)
	b.says(".notice", "Decided")
	b.run(`for (const s of ["#d-completeness", "#d-completeness .mark", "#d-completeness .override"]) document.querySelector(s).open = true; document.querySelector("#d-completeness .override input[name=points]").focus()`)
	b.press("99" + kb.Tab + "He did it." + kb.Tab + kb.Enter)
	b.says("[role=alert]", "Outside what this line can earn")
	b.shot("markvisit-wrong")
	b.run(`document.querySelector("#d-completeness .override input[name=points]").select()`)
	b.press("0.3" + kb.Tab + kb.Tab + kb.Enter)
	b.says(".notice", "Marked")
	b.says(".history", "He did it.")
	b.shot("markvisit-marked")

	// Released, although one can still sit.
	b.open(marks)
	b.run(`document.querySelector("input[name=although]").focus()`)
	b.press(" " + kb.Tab + kb.Enter)
	b.says(".notice", "Released: 11 debriefs")
	b.shot("marks-released")
	b.open("/reviews")
	b.shot("reviews-none")

	b.askReviewAs(browserLogin)
	b.signInAnew("ada")
	b.open("/reviews")
	b.says("main", "I did listen there")
	b.shot("reviews")
	b.run(`document.querySelector(".review textarea").focus()`)
	b.press("Your hand was there for four seconds only." + kb.Tab + kb.Enter)
	b.says(".notice", "Answered")
	b.strikeByTwo(a)
	b.signInAnew(browserLogin)
	b.open("/")
	b.run(`document.querySelector('a[href^="/visits/"]').click()`)
	b.until(`document.querySelector(".debrief")`)
	b.says(".asked", "Your hand was there for four seconds only.")
	b.says(".debrief", "For everybody, since")
	b.shot("debrief-answered")
}

// askReviewAs has a student ask for a review in the debrief.
func (b *browser) askReviewAs(login string) {
	b.t.Helper()
	b.signInAnew(login)
	b.open("/")
	b.run(`document.querySelector('a[href^="/visits/"]').click()`)
	b.until(`document.querySelector(".debrief")`)
	b.run(`for (const s of ["#d-completeness", "#d-completeness .mark", "#d-completeness .ask"]) document.querySelector(s).open = true; document.querySelector("#d-completeness .ask textarea").focus()`)
	b.shot("debrief-ask")
	b.run(`document.querySelector("#d-completeness .ask textarea").focus()`)
	b.press("I did listen there, for longer than it says." + kb.Tab + kb.Enter)
	b.says(".notice", "Asked.")
	b.shot("debrief-asked")
}

// strikeByTwo proposes to strike a line, and has the other instructor sign.
func (b *browser) strikeByTwo(a store.Assignment) {
	b.t.Helper()
	path := "/assignments/" + a.ID + "/strike"
	b.open(path)
	b.click(`.seek button`)
	b.until(`document.querySelector("input[name=strike]")`)
	b.shot("strike")
	b.run(`document.querySelectorAll("input[name=strike]")[9].focus()`)
	b.press(" ")
	b.fill(".why-text textarea", "It was not taught this year.")
	b.press(kb.Tab + kb.Enter)
	b.until(`location.search.startsWith("?of=")`)
	of := b.value("location.search")
	require.Eventually(b.t, func() bool {
		g, err := b.server.store.Regrading(b.t.Context(), of[len("?of="):])
		return err == nil && g.State == store.RegradeProposed
	}, 30*time.Second, 20*time.Millisecond)
	b.open(path + of)
	b.says("main", "Somebody else signs it")
	b.shot("strike-proposed")
	b.signInAnew("robin")
	b.open(path + of)
	b.run(`document.querySelector(".changed summary").click()`)
	b.shot("strike-sign")
	b.fill("#reason", "I agree; it was not taught.")
	b.press(kb.Tab + kb.Enter)
	b.says(".notice", "Signed. In force for 11 visits")
	b.shot("strike-signed")
}

// signInAnew signs out and somebody else in.
func (b *browser) signInAnew(login string) {
	b.t.Helper()
	b.run(`document.querySelector(".leave button").click()`)
	b.until(`location.pathname === "/login"`)
	b.signIn(login, browserPassword)
}
