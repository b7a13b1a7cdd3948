package server

import (
	"context"
	"fmt"
	"testing"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

const secondPassword = "nine slow herons wade home"

// another is a second browser at the same server, with a person of its own.
func (b *browser) another(login, name string, role auth.Role) *browser {
	b.t.Helper()
	p, err := b.server.AddPerson(b.t.Context(), login, name, role, secondPassword)
	require.NoError(b.t, err)
	return b.window(facePerson(p))
}

// window is a browser of its own for a person.
func (b *browser) window(who face.Person) *browser {
	b.t.Helper()
	o := &browser{t: b.t, server: b.server, base: b.base, who: who}
	o.launch(chromium())
	return o
}

// later lets time go by for these pages and the server; for the pages first, since what
// a page then thinks is past it asks the server about.
func (b *browser) later(d time.Duration, pages ...*browser) {
	b.t.Helper()
	for _, p := range append(pages, b) {
		p.skip(d)
	}
	b.ahead.Add(int64(d))
}

// examDay is a sitting that opens in ten minutes, for both students; the second
// has a quarter more time.
func (b *browser) examDay(second, staff *browser, change ...func(*store.Assignment)) store.Assignment {
	b.t.Helper()
	ctx := context.Background()
	c, err := b.server.store.AddCohort(ctx, "Second year", "", false)
	require.NoError(b.t, err)
	for _, m := range []struct{ id, role string }{{b.who.ID, "student"}, {second.who.ID, "student"}, {staff.who.ID, "instructor"}} {
		require.NoError(b.t, b.server.store.SetMember(ctx, c.ID, m.id, m.role, store.Note{Deed: "add member"}))
	}
	require.NoError(b.t, b.server.store.Accommodate(ctx, store.Accommodation{Cohort: c.ID, Person: second.who.ID, Extra: 25}, store.Note{Deed: "accommodate"}))
	a := store.Assignment{Cohort: c.ID, Title: "Practical examination", Kind: forSitting, Track: defaultTrack, Opens: b.now().Add(10 * time.Minute), Closes: b.now().Add(3 * time.Hour),
		Minutes: 40, Tries: 1, Cue: "headings", Places: "unlabelled", State: store.AssignmentSet, Slots: [][]string{{"tansy"}, {"nettle"}}}
	for _, f := range change {
		f(&a)
	}
	a, err = b.server.store.SaveAssignment(ctx, a, store.Note{Deed: "make assignment"})
	require.NoError(b.t, err)
	return a
}

// enter presses Enter on what a selector finds, as a keyboard does once it is there.
func (b *browser) enter(selector string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.querySelector(%q)?.checkVisibility() && !document.querySelector(%q).disabled`, selector, selector))
	b.run(fmt.Sprintf(`document.querySelector(%q).focus()`, selector))
	b.press(kb.Enter)
}

// sitDown goes from the list of patients into the room of the first patient.
func (b *browser) sitDown() (turn string) {
	b.t.Helper()
	b.enter("[data-begin] button")
	b.until(`location.pathname.startsWith("/turns/")`)
	turn = b.value(`location.pathname.split("/")[2]`)
	b.enter(`form[action$="/next"] button`)
	b.until(`location.pathname.startsWith("/visits/")`)
	b.ready()
	return turn
}

// TestTwoStudentsSitAnExamByKeyboard goes through an exam: waiting, the room with
// headings only and nameless places, a pause, a second browser, words that are not
// taken, and an end that comes later for one of the two.
func TestTwoStudentsSitAnExamByKeyboard(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	lee := b.another("lee", "Lee Example", auth.Student)
	staff := b.another("robin", "Robin Example", auth.Instructor)
	a := b.examDay(lee, staff)
	b.signIn(browserLogin, browserPassword)
	lee.signIn("lee", secondPassword)
	lee.says(".assigned", "Your own time is 50 minutes")
	lee.shot("patients-assigned")

	b.enter(fmt.Sprintf(`a[href="/assignments/%s"]`, a.ID))
	b.says("[data-says]", "not open yet")
	require.Equal(t, "true", b.value(`document.querySelector("[data-begin] button").disabled`))
	b.run(`Date.now = () => 9e12`) // a clock set far ahead opens nothing
	lee.open("/assignments/" + a.ID)
	lee.shot("sitting-waiting")
	b.later(10*time.Minute, lee)
	b.says("[data-says]", "Open.")
	turn := b.sitDown()
	lee.says("[data-says]", "Open.")
	second := lee.sitDown()
	b.says("[data-turn]", "39:")
	lee.says("[data-turn]", "49:")

	b.lookUp(a)
	b.pausedByStaff(a, staff)
	b.takenOver(turn)
	b.notTaken(a, staff)
	b.shot("sitting-room")

	staff.signIn("robin", secondPassword)
	staff.open("/assignments/" + a.ID + "/seats")
	staff.says(".seats", "connected")
	staff.says(".seats", "+25 %")
	staff.shot("sitting-seats")

	b.open("/turns/" + turn)
	b.shot("sitting-turn")
	b.later(36*time.Minute, lee) // Kim has some three minutes left, Lee thirteen
	b.enter(`a[href^="/visits/"]`)
	b.ready()
	b.says("[data-turn]", ":")
	b.later(4*time.Minute, lee)
	b.says("[data-cover]", "The time has ended")
	b.until(fmt.Sprintf(`location.pathname === "/turns/%s"`, turn))
	b.says("main", "The time has ended. 1 of 2 patients were begun")
	b.shot("sitting-over")
	lee.says("[data-turn]", "9:")
	lee.line("weigh")
	b.later(5*time.Minute, lee)
	lee.says("[data-turn-says]", " minutes are left.")
	staff.byMinutes(a, lee, second)
	require.Equal(t, "✓ ended by the time", seatWordsOf(t, b, a, b.who.ID).State)
	lee.lateAssessment(b, second)
}

// lateAssessment: what is written of an assessment as the time ends is not sent, and
// stands on the page of the sitting to be read.
func (b *browser) lateAssessment(first *browser, turn string) {
	b.t.Helper()
	b.enter("#tab-finish")
	b.enter("a[data-finish]")
	b.until(`location.pathname.endsWith("/finish")`)
	b.fill("#r-situation", "A dog for its health note.")
	first.ahead.Add(int64(30 * time.Minute))
	b.skip(30 * time.Minute)
	b.says("[data-cover]", "The time has ended")
	b.until(fmt.Sprintf(`location.pathname === "/turns/%s"`, turn))
	b.says("[data-unsent]", "Situation: A dog for its health note.")
	b.shot("sitting-over-unsent")
}

// skip puts forward the page alone.
func (b *browser) skip(d time.Duration) {
	b.t.Helper()
	b.run(fmt.Sprintf(`{const now = performance.now.bind(performance); performance.now = () => now() + %d}`, d.Milliseconds()))
}

func seatWordsOf(t *testing.T, b *browser, a store.Assignment, person string) seatRow {
	t.Helper()
	all, err := b.server.seats(t.Context(), a)
	require.NoError(t, err)
	for _, s := range all.Seats {
		if s.Person == person {
			return b.server.seatRow(s)
		}
	}
	return seatRow{}
}

// lookUp examines and charts by looking a line up; no place and no line is named
// that was not asked for.
func (b *browser) lookUp(a store.Assignment) {
	b.t.Helper()
	b.line("observe")
	require.Equal(b.t, "0", b.value(`document.querySelectorAll("[data-chart] [data-line]").length`), "nothing opens by itself")
	b.fill(".look-up input", "ment")
	b.until(`document.querySelector(".look-up [role=option]")?.textContent === "Mentation"`)
	b.press(kb.ArrowDown + kb.ArrowUp + kb.Enter)
	b.until(`document.activeElement.closest("[data-line]")?.dataset.line === "mentation@"`)
	b.press("br")
	b.says("[data-sheet]", "Mentation")
	b.saved()
	b.fill("#typed", "auscultate left apex"+kb.Enter)
	b.says("[data-typed-answer]", "its places have no names here")
	b.run(`document.querySelector("#typed").value = ""`)
	step := "heart.auscultate"
	b.fill("#typed", "auscultate heart"+kb.Enter)
	b.says("[data-typed-answer]", "Listen to the heart: show the place on the drawing.")
	b.until(`document.activeElement.className === "chest-pad"`)
	b.carry(step, spot(b.t, "dog", step, "left apex").Point, false)
	b.press(kb.Enter)
	b.says(pad(step), "The chest piece lies on the animal.")
	b.saved()
	b.until(`document.querySelector("[data-finds] h3")`)
	for _, part := range []string{"[data-finds]", "[data-bench]", "[data-chart]", "[data-typed-answer]", ".places"} {
		require.NotContains(b.t, b.value(fmt.Sprintf(`document.querySelector(%q)?.innerText`, part)), "apex", part)
	}
	b.press(kb.Escape)
	b.saved()
}

// pausedByStaff covers the desk with what was typed left under it.
func (b *browser) pausedByStaff(a store.Assignment, staff *browser) {
	b.t.Helper()
	b.fill("#typed", "HR 24")
	b.does(a, staff, seatForm{Deed: "pause", For: everybody, Reason: "fire drill"})
	b.says("[data-cover]", "The sitting is paused")
	require.Equal(b.t, "true", b.value(`document.querySelector(".typed").inert && document.querySelector(".room-grid").inert`))
	b.shot("sitting-paused")
	b.does(a, staff, seatForm{Deed: "resume", For: everybody, Reason: "false alarm"})
	b.until(`document.querySelector("[data-cover]").hidden`)
	require.Equal(b.t, "HR 24 typed", b.value(`document.querySelector("#typed").value + " " + document.activeElement.id`), "what was typed, and where one was")
	b.press("x4" + kb.Enter)
	b.says("[data-sheet]", "96")
	b.saved()
}

func (b *browser) does(a store.Assignment, staff *browser, f seatForm) {
	b.t.Helper()
	_, err := b.server.doSeat(b.t.Context(), staff.who, a, f)
	require.NoError(b.t, err)
}

// takenOver: the second browser takes over, the first is told and takes back.
func (b *browser) takenOver(turn string) {
	b.t.Helper()
	w := b.window(b.who)
	w.signIn(browserLogin, browserPassword)
	w.open("/turns/" + turn)
	w.enter(`form[action$="/here"] button`)
	w.enter(`a[href^="/visits/"]`)
	w.ready()
	w.line("weigh")
	b.says("[data-cover]", "Opened elsewhere")
	b.shot("sitting-elsewhere")
	b.until(`document.querySelector("[data-cover] button")`)
	b.enter("[data-cover] button")
	b.until(`document.querySelector("[data-cover]").hidden`)
	b.says(".sheet, [data-places]", "") // the room is there again
	w.says("[data-cover]", "Opened elsewhere")
	b.line("wait 5")
}

// notTaken: what the server refuses is kept to be read, and never sent by itself.
func (b *browser) notTaken(a store.Assignment, staff *browser) {
	b.t.Helper()
	b.down.Store(true)
	b.fill("#typed", "")
	b.run(`document.querySelector('[data-topic]').click()`) // waits for the connection
	b.says("[data-status]", "kept here")
	b.does(a, staff, seatForm{Deed: "pause", For: everybody, Reason: "fire drill"})
	b.down.Store(false)
	b.run(`dispatchEvent(new Event("online"))`)
	b.says("[data-unsent]", "Not taken")
	b.says("[data-cover]", "paused")
	require.Equal(b.t, "0", b.value(`Object.keys(localStorage).filter((n) => n.startsWith("dewclaw-acts-")).length`), "nothing waits to be sent later")
	b.shot("sitting-not-taken")
	b.does(a, staff, seatForm{Deed: "resume", For: everybody, Reason: "false alarm"})
	b.until(`document.querySelector("[data-cover]").hidden`)
	require.Contains(b.t, b.value(`document.querySelector("[data-unsent]").innerText`), "?", "the question stands there in words")
	b.enter("[data-put-away]")
}

// byMinutes gives minutes from the seating sheet by keyboard.
func (b *browser) byMinutes(a store.Assignment, to *browser, turn string) {
	b.t.Helper()
	before := to.minutesLeft(turn)
	b.enter(fmt.Sprintf(`[data-seat="%s"] .seat-do a`, to.who.ID))
	b.until(`document.activeElement.id === "do-what"`)
	b.press("g" + kb.Tab + kb.Tab + "7" + kb.Tab + "The projector failed." + kb.Enter)
	b.says(".notice", "The minutes are given.")
	b.says("main", "gave minutes (7 min)")
	require.InDelta(b.t, before+7, to.minutesLeft(turn), 1)
	b.shot("sitting-seats-log")
}

func (b *browser) minutesLeft(turn string) float64 {
	b.t.Helper()
	t, err := b.server.turn(b.t.Context(), turn)
	require.NoError(b.t, err)
	return t.clock(b.server.now()).Left.Minutes()
}

// TestOrientationInABrowser tries the room with a blank sheet, and reads what was used.
func TestOrientationInABrowser(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	lee := b.another("lee", "Lee Example", auth.Student)
	staff := b.another("robin", "Robin Example", auth.Instructor)
	a := b.examDay(lee, staff, func(a *store.Assignment) { a.Cue = "none" })
	b.signIn(browserLogin, browserPassword)
	b.open("/assignments/" + a.ID)
	b.enter(`form[action="/orientation"] button`)
	b.until(`location.pathname.startsWith("/visits/")`)
	b.ready()
	b.says("[data-orient-count]", "0 of 10")
	b.line("observe")
	b.says("[data-orient-count]", "2 of 10")
	b.fill("#blank-what", "colour of its thoughts"+kb.Tab+"pink"+kb.Enter)
	b.says("[data-chart] .typed-answer", "by its name or its usual abbreviation")
	require.NotContains(t, b.value(`document.querySelector("[data-chart] .typed-answer").textContent`), "perhaps")
	b.run(`document.querySelector("#blank-what").value = document.querySelector("#blank-value").value = ""`)
	b.fill("#blank-what", "HR"+kb.Tab+"24x4"+kb.Enter)
	b.says("[data-sheet]", "96")
	b.says("[data-orient-count]", "3 of 10")
	require.Equal(t, "blank-what", b.value("document.activeElement.id"), "ready for the next line")
	b.shot("sitting-orientation")
	visit := b.value(`location.pathname.split("/")[2]`)
	_, err := b.server.finish(b.ctx, b.who, visit)
	require.NoError(t, err)
	b.open("/visits/" + visit)
	b.says("main", "you used 3 of 10 ways of acting")
	b.shot("sitting-oriented")
}
