package server

import (
	"testing"

	"dewclaw/server/auth"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// TestLookAgainThenPlan goes from a handed-in visit over the second look to the
// debrief, takes a plan along, and meets it over the next patient and first in its
// debrief.
func TestLookAgainThenPlan(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	_, err := b.server.AddPerson(t.Context(), "pupil", "Pat Example", auth.Student, testPassword)
	require.NoError(t, err)
	sc := &school{t: t, s: b.server, clock: newTestClock()}
	v := sc.misses("pupil", "fergus", "left apex")
	v.finish()
	b.signIn("pupil", testPassword)
	b.open("/visits/" + v.id + "/debrief")
	b.until(`location.pathname.endsWith("/forecast")`)
	b.run(`document.querySelector("button[value=pass]").click()`)

	// A sound: heard again, committed wrongly by keyboard, told beside the own.
	b.says("h1", "Look again: Heart, left apex")
	b.click("[data-sound] [data-listen]")
	b.until(`document.querySelector("[data-sound] .listening").dataset.sound === "on"`)
	b.shot("again-sound")
	b.run(`document.querySelector(".again-say button.main").click()`)
	b.says("[role=alert]", "Choose what you find")
	require.Equal(t, "true", b.value(`document.querySelector("#claim").getAttribute("aria-invalid")`))
	b.run(`{const s = document.querySelector("#claim"); s.value = "heart.sounds=gallop"; s.focus()}`)
	b.press(kb.Tab + kb.Enter)
	b.says(".again-told", "Actual finding")
	b.says(".again-told h2", "Not yet")
	b.says(".again-told", "of 6")
	b.shot("again-told")

	// A picture: what is there is found.
	b.click(".again-told a.main")
	b.says("h1", "Look again: Chest wall, left")
	b.until(`document.querySelector("img.picture").naturalWidth > 100`)
	b.shot("again-picture")
	b.run(`document.querySelector("#claim").value = [...document.querySelectorAll("#claim option")].find((o) => o.value.startsWith("heart.thrill@left=") && !o.value.endsWith("=none")).value`)
	b.click(".again-say button.main")
	b.says(".again-told h2", "Found now")
	b.click(".again-told a.main")
	b.says("h1", "Look again: ")
	b.run(`document.querySelector("button[value=pass]").click()`)

	// The debrief, and a plan at its end.
	b.until(`location.pathname.endsWith("/debrief") && document.querySelector(".plan-pick")`)
	b.run(`document.querySelector(".plan-pick input[value=breaths-first]").click()`)
	b.shot("plan-pick")
	b.click(".plan-pick button")
	b.says(".notice", "It stands over your next practice visit.")
	require.Equal(t, "true", b.value(`document.querySelector(".plan-pick input[value=breaths-first]").checked`))
	b.open("/visits/" + v.id + "/again")
	b.says("h1", "Looked at again")
	b.shot("again-all")

	next := sc.misses("pupil", "fergus", "left apex")
	b.open("/visits/" + next.id)
	b.says(".plan-now", "Before I touch the animal I count its breaths for 30 s.")
	b.shot("plan-room")
	next.finish()
	row, err := b.server.store.Attempt(t.Context(), next.id)
	require.NoError(t, err)
	require.NoError(t, b.server.passWay(t.Context(), row))
	b.open("/visits/" + next.id + "/debrief")
	b.says(".plan-kept", "Not kept in this visit.")
	b.shot("plan-debrief")
}
