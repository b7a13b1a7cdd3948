package server

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/server/auth"
	"dewclaw/server/face"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// line types a line, as a person who is quick would.
func (b *browser) line(text string) {
	b.t.Helper()
	b.fill("#typed", text+kb.Enter)
	b.says("[data-typed-answer]", "✓")
	b.run(`document.querySelector("[data-typed-answer]").textContent = ""`)
	b.saved()
}

// ready waits until the examination room has opened.
func (b *browser) ready() {
	b.t.Helper()
	b.until(`document.querySelector("[data-room]")?.dataset.ready !== undefined`)
}

// start begins a visit with a case through the list of patients.
func (b *browser) start(caseID string) (visit string) {
	b.t.Helper()
	b.open("/")
	b.run(fmt.Sprintf(`document.querySelector('input[name=patient][value=%q]').form.requestSubmit()`, b.server.opaque(caseID)))
	b.until(`location.pathname.startsWith("/visits/")`)
	b.ready()
	return strings.TrimPrefix(b.value("location.pathname"), "/visits/")
}

// TestStudentExaminesAHealthyDog goes the whole way as a person does: signs in,
// examines with buttons, keys and the typed line, reloads in the middle, loses
// the connection once, assesses, and reads the debrief.
func TestStudentExaminesAHealthyDog(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.open("/login")
	b.shot("login")
	b.signIn(browserLogin, browserPassword)
	visit := b.start(healthyDog(t, b.server))
	b.shot("room-start")

	b.click(`[data-step="distance.observe"]`)
	b.saved()
	b.says("[data-finds]", "Look away")
	b.press(kb.Escape)
	b.says("[data-places]", "examined, lines open")

	b.press("/") // leads to the typed line
	b.press("auscultate left apex" + kb.Enter)
	b.until(`document.querySelector("[data-sound]")?.dataset.sound === "on"`) // the clip came and plays
	b.shot("room-listening")
	time.Sleep(1500 * time.Millisecond)
	b.press(kb.Escape)
	b.press(kb.Escape)
	b.until(`!document.querySelector("[data-sound]")`)

	b.line("count breaths")
	b.until(`document.querySelector("[data-finds] img.picture")?.naturalWidth > 0`)
	b.shot("room-looking")
	b.press(kb.Escape)
	b.press(kb.Escape)
	b.line("HR 24x4")
	b.fill("#typed", "heart rest normal"+kb.Enter)
	b.says("[data-typed-answer]", "Need a line of their own")
	b.click("[data-typed-answer] button")
	b.saved()
	b.says("[data-sheet]", "96")
	b.says("[data-sheet] .entry .unseen", ". Change")
	b.reload(visit)
	b.loseConnection(visit)
	b.shot("room-charted")

	b.click("#tab-owner")
	b.click("[data-topic]")
	b.until(`document.querySelector("[data-owner] q")?.textContent`)
	b.shot("room-owner")
	b.click("#tab-handling")
	open := b.value(`document.querySelector("[data-open-count]").textContent`)
	b.click("[data-how]")
	b.saved()
	require.Equal(t, open, b.value(`document.querySelector("[data-open-count]").textContent`), "handling charts nothing")
	b.shot("room-handling")
	b.assess(visit)
}

// reload proves that a reload in the middle loses nothing.
func (b *browser) reload(visit string) {
	b.t.Helper()
	before := b.acts(visit)
	b.do(chromedp.Reload())
	b.ready()
	b.says("[data-sheet]", "96")
	require.Equal(b.t, before, b.acts(visit))
}

// loseConnection writes an entry without a connection and gets it to the server afterwards.
func (b *browser) loseConnection(visit string) {
	b.t.Helper()
	before := len(b.acts(visit))
	b.run(`document.querySelector('[data-places] [data-region="distance"]').click()`)
	b.until(`document.querySelector("[data-chart] select")`)
	b.down.Store(true)
	b.run(`{const s = document.querySelector("[data-chart] select"); s.value = s.options[1].value; s.dispatchEvent(new Event("change", {bubbles: true}))}`)
	b.says("[data-status]", "waiting for the connection, 1 act kept here")
	b.says("[data-chart]", "kept here")
	require.Len(b.t, b.acts(visit), before, "nothing reached the server")
	b.shotOffline()
	b.down.Store(false)
	b.run(`dispatchEvent(new Event("online"))`)
	b.saved()
	require.Len(b.t, b.acts(visit), before+1)
}

func (b *browser) shotOffline() {
	if *shots == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(b.t, err)
	require.NoError(b.t, os.WriteFile(filepath.Join(*shots, "room-offline.png"), png, 0o644))
}

// acts are the kinds of the acts that the server has.
func (b *browser) acts(visit string) []string {
	b.t.Helper()
	a, err := b.server.attempt(b.ctx, b.who, visit)
	require.NoError(b.t, err)
	kinds := []string{}
	for _, act := range a.Acts {
		kinds = append(kinds, act.Kind)
	}
	return kinds
}

// onward passes over what stands before a visit's debrief.
func (b *browser) onward(visit string) {
	b.t.Helper()
	row, err := b.server.store.Attempt(b.ctx, visit)
	require.NoError(b.t, err)
	require.NoError(b.t, b.server.passWay(b.ctx, row))
}

// assess goes through the assessment and reads the debrief.
func (b *browser) assess(visit string) {
	b.t.Helper()
	b.open("/visits/" + visit + "/finish")
	b.shot("assessment")
	b.click(`button[value="review"]`)
	b.until(`document.querySelector("input[name=urgency]:invalid")`) // the browser asks for the urgency
	b.click(`input[name="urgency"][value="routine"]`)
	b.fill("#r-situation", "A healthy dog for its yearly look-over.")
	b.click(`button[value="review"]`)
	b.until(`document.querySelector("h1").textContent.includes("once more")`)
	b.shot("review")
	b.onward(visit)
	b.click(`button[value="submit"]`)
	b.until(`location.pathname.endsWith("/debrief")`)
	b.says(".opening", "Safety:")
	b.says(".opening", "The biggest loss:")
	b.says(".opening", "What went well:")
	b.says(".acts", "Charted Heart rate: 96")
	b.shot("debrief")
	b.run(`document.querySelector("[data-unfold]").click()`)
	b.shot("debrief-unfolded")
	b.open("/")
	b.says("main", "passed")
	b.shot("patients")
}

// TestChartingANormalDogTakesFewKeys holds the target: once it is examined, a
// normal dog is charted with at most 60 keys (a press of a button counts as
// one). By the keystroke-level model (Card, Moran and Newell, Communications
// of the ACM 23, 1980: 0.28 s a key for an average typist, 1.35 s to prepare a
// unit) that takes at most 90 s.
func TestChartingANormalDogTakesFewKeys(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.signIn(browserLogin, browserPassword)
	visit := b.start(healthyDog(t, b.server))
	b.examineAll(visit)
	b.do(chromedp.Reload())
	b.ready()
	require.NotEqual(t, "0", b.value(`document.querySelector("[data-open-count]").textContent`))

	b.keys = 0
	units := 1
	b.click("#tab-open")
	b.keys++
	b.shot("room-open-lines")
	b.run(`document.querySelector("#panel-open select, #panel-open input").focus()`) // where opening the tab had put it
	typed := b.normalDog()
	for range 100 {
		stop := b.value(`document.activeElement.closest("[data-line]")?.dataset.line.split("@")[0] || (document.activeElement.matches("[data-sweep]") ? "sweep" : "nothing")`)
		units++
		if stop == "sweep" {
			b.press(kb.Enter)
			b.until(`document.activeElement.matches(".sweep-ask button.main")`)
			b.shot("room-rest-normal")
			b.run(`document.querySelector(".sweep-ask button.main").focus()`)
			b.press(kb.Enter)
			break
		}
		text, ok := typed[stop]
		require.True(t, ok, "nothing to type for %s", stop)
		b.press(text + kb.Enter)
	}
	b.until(`document.querySelector("[data-open-count]").textContent === ""`)
	b.saved()
	a, err := b.server.attempt(b.ctx, b.who, visit)
	require.NoError(t, err)
	require.Empty(t, a.Examined, "every examined line is charted")
	seconds := float64(b.keys)*.28 + float64(units)*1.35
	t.Logf("a normal dog of %d lines is charted with %d keys in %d units, %.0f s by the keystroke-level model", len(a.Sheet), b.keys, units, seconds)
	require.LessOrEqual(t, b.keys, 60)
	require.LessOrEqual(t, seconds, 90.0)
}

// examineAll does every step of the examination at every site through the API's own function.
func (b *browser) examineAll(visit string) {
	b.t.Helper()
	a, err := b.server.attempt(b.ctx, b.who, visit)
	require.NoError(b.t, err)
	cat, err := b.server.catalogue("dog")
	require.NoError(b.t, err)
	n := 0
	for _, step := range cat.Steps {
		if strings.Contains(strings.Join(a.Absent, " ")+" ", step.ID+" ") || step.Verb == "rectal" || strings.HasSuffix(step.ID, "scopy") {
			continue
		}
		sites := step.Sites
		if len(sites) == 0 {
			sites = []string{""}
		}
		if step.ID == "temperature.measure" {
			sites = sites[:1]
		}
		for _, site := range sites {
			n++
			_, err := b.server.act(b.ctx, visitor{person: b.who}, visit, n-1, fmt.Sprintf("examine-all-%d", n), rubric.Act{Kind: rubric.Examine, Step: step.ID, Site: site})
			require.NoError(b.t, err, step.ID)
		}
	}
}

// normalDog is what a student types for a normal dog: numbers with their
// reading, and the beginning of a choice's label as far as it takes to reach it.
func (b *browser) normalDog() map[string]string {
	b.t.Helper()
	typed := map[string]string{
		"heart.rate": "24x4n", "resp.rate": "22n", "temperature": "38.5n", "crt": "1.5n", "body.condition": "5n", "weight": "14.2n",
	}
	cat, err := b.server.catalogue("dog")
	require.NoError(b.t, err)
	for _, f := range cat.Fields {
		if _, ok := typed[f.ID]; !ok && len(f.Choices) > 0 {
			typed[f.ID] = beginning(f, b.server.library.Catalogue("dog").Field(f.ID).Normal[0])
		}
	}
	return typed
}

// beginning is the shortest text whose first match in the list is this choice.
func beginning(f face.Field, choice string) string {
	for _, c := range f.Choices {
		if c.ID != choice {
			continue
		}
		for n := 1; n <= len(c.Label); n++ {
			prefix := strings.ToLower(c.Label[:n])
			i := slices.IndexFunc(f.Choices, func(o face.Choice) bool { return strings.HasPrefix(strings.ToLower(o.Label), prefix) })
			if f.Choices[i].ID == choice {
				return prefix
			}
		}
	}
	return ""
}

// healthyDog is a practice case whose assessment names no problem.
func healthyDog(t *testing.T, s *Server) string {
	t.Helper()
	for _, c := range s.library.Cases() {
		if c.Use == practice && c.Species == "dog" && len(c.Conclusions.Problems) == 0 {
			return c.ID
		}
	}
	t.Fatal("the library has no healthy dog for practice")
	return ""
}

// TestDebriefsOfManyKinds reads what a careless and a hasty student are told:
// hazards, missed findings, steps out of place.
func TestDebriefsOfManyKinds(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.signIn(browserLogin, browserPassword)
	students := map[string]func(*cases.Patient, rubric.Key) []rubric.Act{
		"reckless": robot.Reckless,
		"disorder": func(p *cases.Patient, k rubric.Key) []rubric.Act { return robot.RandomOrder(p, k, 7) },
		"typical":  func(p *cases.Patient, k rubric.Key) []rubric.Act { return robot.Typical(p, k, 3, 5) },
	}
	for name, acts := range students {
		for _, id := range b.server.Practice() {
			if id != healthyDog(t, b.server) {
				require.NoError(t, b.server.PlayVisit(t.Context(), b.who.ID, id, "veterinary", acts))
				break
			}
		}
		b.open("/")
		b.until(`[...document.querySelectorAll("td")].every((td) => td.textContent !== "being marked") || location.reload()`)
		b.run(`document.querySelector("tbody a").click()`) // the newest stands first
		b.until(`location.pathname.endsWith("/debrief")`)
		b.says(".opening", "Safety:")
		require.Equal(t, "0", b.value(`[...document.querySelectorAll('a[href^="#"]')].filter((a) => !document.querySelector(a.hash)).length`), "every link into the page leads somewhere")
		b.shot("debrief-" + name)
	}
}

// TestErrorPagesInABrowser looks at the pages that nobody hopes to see.
func TestErrorPagesInABrowser(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.signIn(browserLogin, browserPassword)
	b.open("/visits/nowhere")
	b.says("h1", "Not found")
	b.shot("error")
	_, err := b.server.AddPerson(t.Context(), "lee", "Lee Example", auth.Coordinator, "nine slow herons wade home")
	require.NoError(t, err)
	b.click(".leave button")
	b.until(`location.pathname === "/login"`)
	b.signIn("lee", "nine slow herons wade home")
	b.shot("patients-staff")
	b.open("/who")
	b.shot("who")
	b.open("/settings")
	b.says("h1", "Settings")
	b.shot("settings")
	b.open("/people")
	b.fill("#name", "Robin Example")
	b.fill("#login", "robin"+kb.Enter)
	b.until(`document.querySelector("input[readonly]")?.value.includes("/join?token=")`)
	b.shot("people")
	b.open(strings.TrimPrefix(b.value(`document.querySelector("input[readonly]").value`), b.base))
	b.shot("join")
}
