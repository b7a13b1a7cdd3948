package server

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// TestAWholeExamDay goes from the roster to the gradebook in browsers: an
// instructor enrols two students, prints their slips, sets a sitting with measured
// draws and watches over it; the students join by slip, try headphones and room,
// sit, one of them with a quarter more time and later at another browser; then
// what waits is decided, marks are released, a review is asked for and answered.
func TestAWholeExamDay(t *testing.T) {
	t.Parallel()
	staff := openBrowser(t, func(c *Config) { c.Draws = 4 })
	began := time.Now()
	lap := func(what string) { t.Logf("%s: %.1f s", what, time.Since(began).Seconds()); began = time.Now() }
	_, err := staff.server.AddPerson(t.Context(), "ada", "Ada Example", auth.Instructor, browserPassword)
	require.NoError(t, err)
	staff.signIn("ada", browserPassword)
	d := &examDayOf{browser: staff}
	d.enrol()
	d.setSitting()
	lap("the instructor's preparation")

	linnet, moss := d.joins("Linnet Sorrel"), d.joins("Moss Hale")
	linnet.prepare(d)
	lap("joining and trying")
	d.later(d.assignment().Opens.Sub(d.now())+time.Second, linnet, moss)
	turn := linnet.begins(d, "50 minutes")
	moss.begins(d, "40 minutes")
	other := linnet.moves(turn)
	d.watch(other, moss)
	lap("sitting down, moving, minutes and a pause")
	moss.line("weigh")
	moss.line("HR 24x4") // charted and never counted: a person looks at that
	other.line("observe")
	visit := moss.value(`location.pathname.split("/")[2]`)
	d.later(44*time.Minute, other, moss) // 40 and 5 given: the time ends for Moss alone
	d.later(2*time.Minute, other, moss)
	moss.says("[data-cover]", "The time has ended")
	moss.until(`location.pathname.startsWith("/turns/")`)
	moss.says("main", "The time has ended. 1 of 2 patients were begun")
	other.handsIn(turn)
	lap("the end")

	d.release(visit)
	lap("decisions and release")
	moss.asks(visit)
	d.answers()
	moss.reads(visit)
	d.gradebook()
	lap("a review, and the gradebook")
}

// examDayOf is the instructor's browser, with what was made that day.
type examDayOf struct {
	*browser
	cohort, sitting string
	links           map[string]string // one-time links, by name
}

func (d *examDayOf) assignment() store.Assignment {
	a, err := d.server.store.Assignment(d.t.Context(), d.sitting)
	require.NoError(d.t, err)
	return a
}

// enrol makes a cohort from a roster of two, gives one more time, and prints slips.
func (d *examDayOf) enrol() {
	d.open("/cohorts")
	d.fill("#name", "Second year\r")
	d.until(`location.pathname.startsWith("/cohorts/")`)
	d.cohort = d.value(`location.pathname.split("/")[2]`)
	d.open("/cohorts/" + d.cohort + "/roster")
	d.choose("people.csv", "number,name\n60,Linnet Sorrel\n61,Moss Hale\n")
	d.enter("[data-most] button")
	d.says("main", "What people.csv would change")
	d.enter(".decide button")
	d.says("main", "The last roster was entered")

	d.open("/cohorts/" + d.cohort)
	d.run(`[...document.querySelectorAll("td a")].find((a) => a.textContent.includes("Linnet")).click()`)
	d.until(`document.querySelector("#person")`)
	d.run(`document.querySelector("#extra").select()`)
	d.press("25" + kb.Tab + kb.Tab + kb.Tab + "Decided by the board." + kb.Tab + kb.Enter)
	d.says(".notice", "Kept with your name and reason")

	d.open("/cohorts/" + d.cohort + "/slips")
	d.enter("button[value=print]")
	d.until(`document.querySelectorAll(".slip").length === 2`)
	d.links = map[string]string{}
	for i := range 2 {
		part := func(class string) string {
			return d.value(fmt.Sprintf(`document.querySelectorAll(".slip")[%d].querySelector(%q).textContent`, i, class))
		}
		d.links[part(".slip-name")] = part(".link")
	}
}

// setSitting makes a sitting of a drawn and a fixed patient, waits for its draws
// to be measured, and sets it with what is known of it.
func (d *examDayOf) setSitting() {
	d.open("/cohorts/" + d.cohort + "/assignments")
	d.click(`a[href$="kind=sitting"]`)
	d.until(`document.querySelector("#title")`)
	opens := d.now().UTC().Add(time.Hour)
	d.run(`const set = (id, v) => { document.getElementById(id).value = v }; set("title", "Finals"); set("minutes", "40"); set("opens", "` + opens.Format(typedTime) + `"); set("closes", "` + opens.Add(3*time.Hour).Format(typedTime) + `");
		for (const id of ["tansy", "biscuit"]) document.querySelector('input[name="s0-case"][value="' + id + '"]').checked = true`)
	d.click(`button[value="add"]`)
	d.until(`document.querySelector("#patient-2")`)
	d.run(`document.querySelector('select[name="s1-species"]').value = "dog"`)
	d.click(`button[value="show-1"]`)
	d.until(`document.querySelectorAll('input[name="s1-case"]:checked').length > 1`)
	d.run(`document.querySelectorAll('input[name="s1-case"]').forEach((e) => { e.checked = e.value === "nettle" })`)
	d.click(`.keep button`)
	d.until(`location.pathname.startsWith("/assignments/")`)
	d.sitting = d.value(`location.pathname.split("/")[2]`)
	require.Eventually(d.t, func() bool {
		draws, err := d.server.store.Draws(d.t.Context(), d.sitting)
		return err == nil && len(draws) == 3
	}, 30*time.Second, 20*time.Millisecond, "the draws of all three are measured")
	d.open("/assignments/" + d.sitting)
	d.says("main", "50 minutes")
	d.run(`document.querySelector('input[name="uneven"]')?.click(); document.querySelector("#reason") && (document.querySelector("#reason").value = "Decided by the board")`)
	d.click(`.before button.main`)
	d.says(".state", "set")
}

// joins opens the link of a slip in a browser of its own and chooses a password.
func (d *examDayOf) joins(name string) *browser {
	d.t.Helper()
	link := d.links[name]
	require.NotEmpty(d.t, link, "%v", d.links)
	login := map[string]string{"Linnet Sorrel": "60", "Moss Hale": "61"}[name]
	p, err := d.server.store.PersonByLogin(d.t.Context(), login)
	require.NoError(d.t, err)
	o := d.window(facePerson(p))
	o.open(strings.TrimPrefix(link, d.base))
	o.until(`document.querySelector("#password")`)
	o.fill("#password", secondPassword+"\r")
	o.until(`location.pathname === "/"`)
	o.says(".assigned", "Finals")
	return o
}

// prepare is what a student can try beforehand.
func (b *browser) prepare(d *examDayOf) {
	b.open("/soundcheck")
	drawn, err := b.server.checkOf(b.who, b.value(`document.querySelector("input[name=token]").value`))
	require.NoError(b.t, err)
	b.fill("#beats", fmt.Sprint(drawn.beats))
	b.run(`document.querySelector('input[name="deep"][value="` + drawn.deep + `"]').focus()`)
	b.press(" " + kb.Enter)
	b.says("[role=status]", "Passed")
	b.open("/assignments/" + d.sitting)
	b.says("[data-says]", "not open yet")
	b.enter(`form[action="/orientation"] button`)
	b.until(`location.pathname.startsWith("/visits/")`)
	b.ready()
	b.line("observe")
}

// begins sits down, with the time that is one's own.
func (b *browser) begins(d *examDayOf, time string) (turn string) {
	b.t.Helper()
	b.open("/assignments/" + d.sitting)
	b.says("main", time)
	return b.sitDown()
}

// moves goes on at another browser; the first is told.
func (b *browser) moves(turn string) *browser {
	b.line("weigh")
	w := b.window(b.who)
	w.signIn(b.who.Login, secondPassword)
	w.open("/turns/" + turn)
	w.enter(`form[action$="/here"] button`)
	w.enter(`a[href^="/visits/"]`)
	w.ready()
	b.says("[data-cover]", "Opened elsewhere")
	return w
}

// watch gives one student minutes and pauses everybody for a while.
func (d *examDayOf) watch(linnet, moss *browser) {
	for _, f := range []seatForm{
		{Deed: "minutes", For: moss.who.ID, Minutes: "5", Reason: "The projector failed"},
		{Deed: "pause", For: everybody, Reason: "Fire drill"},
		{Deed: "resume", For: everybody, Reason: "False alarm"},
	} {
		d.open("/assignments/" + d.sitting + "/seats")
		d.says(".seats", "+25 %")
		d.run(fmt.Sprintf(`const set = (id, v) => { document.getElementById(id).value = v }; set("do-what", %q); set("do-for", %q); set("do-minutes", %q); set("do-why", %q)`, f.Deed, f.For, f.Minutes, f.Reason))
		d.click(".deed-form button.main")
		d.says(".notice", "")
		if f.Deed == "pause" {
			for _, b := range []*browser{linnet, moss} {
				b.says("[data-cover]", "The sitting is paused")
			}
			d.later(7*time.Minute, linnet, moss)
		}
	}
	for _, b := range []*browser{linnet, moss} {
		b.until(`document.querySelector("[data-cover]").hidden`)
	}
	moss.says("[data-turn]", "44:")
	linnet.says("[data-turn]", "49:")
	d.says("main", "gave minutes (5 min)")
	d.says("main", "Fire drill")
}

// handsIn ends one's own sitting before its time.
func (b *browser) handsIn(turn string) {
	b.open("/turns/" + turn + "/finish")
	b.enter(`form[action$="/finish"] button`)
	b.says("main", "handed in")
}

// release decides what waits and releases the debriefs to both.
func (d *examDayOf) release(visit string) {
	d.t.Helper()
	d.server.wakeWorker()
	require.Eventually(d.t, func() bool {
		rows, err := d.server.store.ToGrade(d.t.Context(), 9)
		return err == nil && len(rows) == 0
	}, 15*time.Second, 20*time.Millisecond)
	d.open("/visits/" + visit + "/debrief")
	d.until(`document.body.textContent.includes("not reached")`)
	d.open("/assignments/" + d.sitting + "/marks")
	visits := d.value(`[...new Set([...document.querySelectorAll(".all-marks a[href^='/visits/']")].map((a) => a.getAttribute("href")))].join(" ")`)
	decided := 0
	for _, at := range strings.Fields(visits) {
		d.open(at)
		for d.value(`document.querySelectorAll(".held details[open] form").length`) != "0" {
			d.run(`{const f = document.querySelector(".held details[open] form"); f.querySelector("[name=stands][value=no]").checked = true; f.querySelector("textarea").value = "Looked at; too little was done to say so"; f.requestSubmit()}`)
			d.says(".notice", "")
			decided++
			d.open(at)
		}
	}
	require.Positive(d.t, decided, "who did next to nothing is looked at by a person")
	d.open("/assignments/" + d.sitting + "/marks")
	d.run(`document.querySelector("[name=although]")?.click()`)
	d.click(`form.after button.main`)
	d.until(`document.querySelectorAll(".all-marks tbody td").length && [...document.querySelectorAll(".all-marks tbody tr")].some((r) => r.textContent.includes("released"))`)
}

// asks asks for a review of a line that lost marks.
func (b *browser) asks(visit string) {
	b.t.Helper()
	b.open("/visits/" + visit + "/debrief")
	b.until(`document.querySelector("details.ask")`)
	b.run(`{const d = document.querySelector("details.ask"); for (let p = d; p; p = p.parentElement?.closest("details")) p.open = true; d.querySelector("textarea").value = "I did look before I touched."; d.querySelector("form").requestSubmit()}`)
	b.until(`document.querySelector(".asked")`)
	b.says(".asked", "It waits for an instructor.")
}

// answers answers the one review that waits, with another mark.
func (d *examDayOf) answers() {
	d.t.Helper()
	d.open("/reviews")
	d.says(".review", "I did look before I touched.")
	d.says(".review", "Moss Hale")
	d.run(`{const f = document.querySelector(".review form"); f.querySelector("[name=points]").value = "0.5"; f.querySelector("textarea").value = "Half of it was seen."; f.requestSubmit()}`)
	d.says("main", "Nothing waits")
}

// reads reads the answer and the mark by hand.
func (b *browser) reads(visit string) {
	b.t.Helper()
	b.open("/visits/" + visit + "/debrief")
	b.says(".asked", "with another mark")
	b.says(".asked", "Half of it was seen.")
	b.until(`document.querySelector(".by-hand")`)
}

// gradebook fetches the list as the button does.
func (d *examDayOf) gradebook() {
	d.t.Helper()
	d.open("/assignments/" + d.sitting + "/marks")
	d.until(`document.querySelector("a[href$='gradebook.csv']")`)
	d.run(fmt.Sprintf(`fetch(%q).then((r) => r.text()).then((t) => { window.book = t })`, "/assignments/"+d.sitting+"/gradebook.csv"))
	d.until(`window.book`)
	book := d.value("window.book")
	require.Contains(d.t, book, "Linnet Sorrel")
	require.Contains(d.t, book, "Moss Hale")
}
