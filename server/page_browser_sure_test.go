package server

import (
	"context"
	"testing"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/server/face"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// sureOf is how sure somebody is of the lines on their sheet, by field.
func (b *browser) sureOf(visit string) map[string]string {
	b.t.Helper()
	a, err := b.server.attempt(b.ctx, b.who, visit)
	require.NoError(b.t, err)
	out := map[string]string{}
	for _, l := range a.Sheet {
		if l.Sure != "" {
			out[placeKey(l.Place)] = l.Sure
		}
	}
	return out
}

// TestOnePatientWithConfidenceToTheDebrief says how sure one is by tap, by key
// and in the typed line, without a connection too, forecasts, and reads what was
// sure and wrong first.
func TestOnePatientWithConfidenceToTheDebrief(t *testing.T) {
	b := openBrowser(t)
	visit := b.room()
	b.says("[data-asking]", "Never marked")
	b.line("look")
	b.press(kb.Escape + kb.Escape)
	b.line("auscultate left apex")
	b.press(kb.Escape + kb.Escape)
	b.fill("#typed", "HR 50x4!"+kb.Enter)
	b.says("[data-typed-answer]", "over 15 s, sure")
	b.saved()
	b.says("[data-sheet]", "· sure")
	require.Equal(t, map[string]string{"heart.rate": rubric.Sure}, b.sureOf(visit))

	b.run(`document.querySelector('[data-places] [data-region="distance"]').click()`)
	const line = `[data-chart] [data-line="posture@"]`
	b.until(`document.querySelector('` + line + ` select')`)
	require.Equal(t, "true", b.value(`document.querySelector('`+line+` .sure').hidden`), "first there is something to be sure of")
	choose := func(n string) {
		b.run(`{const s = document.querySelector('` + line + ` select'); s.focus(); s.value = s.options[` + n + `].value; s.dispatchEvent(new Event("change", {bubbles: true}))}`)
	}
	choose("1")
	b.shot("room-sure-asks")
	b.click(line + ` .sure [data-sure="guess"]`)
	b.saved()
	require.Equal(t, rubric.Guess, b.sureOf(visit)["posture"])
	b.until(`!document.querySelector('` + line + ` [data-sure="sure"]').checkVisibility()`) // what was said stands alone
	b.click(line + ` .sure [data-sure="guess"]`)
	b.click(line + ` .sure [data-sure="fairly"]`)
	b.saved()
	require.Equal(t, rubric.Fairly, b.sureOf(visit)["posture"])
	b.run(`document.querySelector('` + line + ` select').focus()`)
	b.press("?")
	b.saved()
	require.Equal(t, rubric.Guess, b.sureOf(visit)["posture"], "by key alone")

	before := len(b.acts(visit))
	b.down.Store(true)
	choose("2")
	b.says("[data-chart]", "kept here")
	b.click(line + ` .sure [data-sure="sure"]`)
	b.says("[data-status]", "2 acts kept here")
	b.down.Store(false)
	b.run(`dispatchEvent(new Event("online"))`)
	b.saved()
	require.Len(t, b.acts(visit), before+2)
	require.Equal(t, rubric.Sure, b.sureOf(visit)["posture"], "what waits knows its line once that is stored")
	b.shot("room-sure-said")

	b.click(`[data-asking] button`)
	b.says("[data-asking]", "Does not ask how sure you are")
	require.Equal(t, "true", b.value(`document.querySelector('`+line+` .sure').hidden`))
	b.do()
	b.open("/visits/" + visit)
	b.ready()
	b.says("[data-asking]", "Does not ask how sure you are")
	b.click(`[data-asking] button`)
	b.says("[data-asking]", "Asks how sure you are")
	b.forecast(visit)
}

// forecast hands the visit in, says what is expected and reads the debrief.
func (b *browser) forecast(visit string) {
	b.t.Helper()
	_, err := b.server.finish(context.Background(), b.who, visit)
	require.NoError(b.t, err)
	b.open("/visits/" + visit)
	b.until(`location.pathname.endsWith("/forecast")`)
	b.shot("forecast")
	b.fill("#x-findings", "80")
	b.fill("#x-vitals", "190")
	b.run(`document.querySelector("#least").value = "posture"`)
	b.click(`button[value="say"]`)
	b.says("[role=alert]", "Vital signs: a whole number from 0 to 100")
	require.Equal(b.t, "80", b.value(`document.querySelector("#x-findings").value`))
	require.Equal(b.t, "posture", b.value(`document.querySelector("#least").value`))
	b.shot("forecast-wrong")
	b.run(`document.querySelector("#x-vitals").value = ""`)
	for at, text := range map[string]string{"order": "60", "completeness": "30", "vitals": "70", "handling": "100", "conclusions": "50"} {
		b.fill("#x-"+at, text)
	}
	b.press(kb.Enter)
	b.until(`!location.pathname.endsWith("/forecast")`)
	row, err := b.server.store.Attempt(b.ctx, visit)
	require.NoError(b.t, err)
	require.NoError(b.t, b.server.passWay(b.ctx, row)) // whatever else stands before it
	b.open("/visits/" + visit + "/debrief")
	b.says(".debrief > section h2", "Sure, and wrong")
	b.says(".sure-wrong", "You charted 200/min; it was")
	b.says(".debrief", "What you expected, and what came")
	require.Equal(b.t, "true", b.value(`document.querySelector(".sure-wrong").compareDocumentPosition(document.querySelector(".opening")) === Node.DOCUMENT_POSITION_FOLLOWING`))
	b.shot("debrief-sure")
	f, err := b.server.forecast(b.ctx, b.who, visit)
	require.NoError(b.t, err)
	require.Equal(b.t, &face.Place{Field: "posture"}, f.Least)
	b.open("/progress")
	b.says("main", "From 20 on, it is shown here")

	require.NoError(b.t, b.server.PlayVisit(b.ctx, b.who.ID, murmurer(b.t, b.server), "veterinary", surely))
	b.open("/progress")
	b.until(`document.querySelectorAll(".band").length === 3 || location.reload()`)
	b.says(".bands", "When you are sure: right ")
	b.shot("progress-sure")
}

// surely is a student who errs as many do and says of every line how sure they are.
func surely(p *cases.Patient, k rubric.Key) []rubric.Act {
	acts := robot.Typical(p, k, 3, 5)
	for i := range acts {
		if a := &acts[i]; a.Kind == rubric.Record && a.Field != "" && a.Value != "" && a.Value != rubric.NotExamined {
			a.Sure = rubric.Sures()[i%3]
		}
	}
	return acts
}
