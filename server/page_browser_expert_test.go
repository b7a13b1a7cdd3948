package server

import (
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// TestAnExpertIsWatched goes from the offer beside the first dogs through an
// examination: it plays and stops where it asks, a guess is answered, a sound is
// heard, keys and the slider go on and back, and the end is noted.
func TestAnExpertIsWatched(t *testing.T) {
	b := openBrowser(t)
	b.signIn(browserLogin, browserPassword)
	b.click(`.watch-first a[href="/experts/dog"]`)
	b.until(`document.querySelector(".played")`)
	shown := `document.querySelector("[data-scene]:not([hidden])")`
	b.says("[data-count]", "Step 1 of ")
	require.Equal(t, "1", b.value(`document.querySelectorAll("[data-scene]:not([hidden])").length`))
	b.shot("expert-first")

	// It plays by itself, and waits where it asks.
	b.run(`document.querySelector("[data-speed]").append(new Option("at once", "400")); document.querySelector("[data-speed]").value = "400"`)
	b.click("[data-play]")
	b.until(shown + `.querySelector("[data-guess]:not([hidden])")`)
	b.says("[data-play]", "Pause")
	before := b.value(shown + `.dataset.scene`)
	require.Equal(t, "Where next?", b.value(`document.querySelector("[data-where]").textContent`))
	b.shot("expert-asks")
	b.run(shown + `.querySelector("input[name=text]").focus()`)
	b.press("HR 24x4" + kb.Enter)
	b.until(shown + `.querySelector(".wrong")?.textContent.includes("Type something to do")`)
	b.run(shown + `.querySelector("input[name=text]").value = ""; document.querySelector("[data-play]").click()`)
	b.run(shown + `.querySelector("input[value='distance.observe']").click()`)
	b.run(shown + `.querySelector("[data-guess] button.main").click()`)
	b.until(shown + `.querySelector(".verdict-said .same")`)
	require.Equal(t, before, b.value(shown+`.dataset.scene`), "it stays until one goes on")
	require.Equal(t, "true", b.value(`document.activeElement.matches(".verdict-said")`), "who goes by keyboard goes on from the answer")
	b.until(shown + `.querySelector("h2").checkVisibility()`)

	// The chest: sounds beside words, the way so far on the animal.
	heart := b.value(`[...document.querySelectorAll("[data-scene]")].find((s) => s.querySelector("[data-sound]")).dataset.scene`)
	b.run(`{const seek = document.querySelector("[data-seek]"); seek.value = ` + heart + `; seek.dispatchEvent(new Event("input"))}`)
	b.until(shown + `.dataset.scene === "` + heart + `"`)
	whole := b.value(`Math.max(...[...document.querySelectorAll("[data-scene]")].map((s) => Number(s.dataset.legs)))`)
	gone := b.value(`document.querySelector("[data-route]").getAttribute("points").split(" ").length`)
	require.NotEqual(t, whole, gone)
	require.Equal(t, gone, b.value(shown+`.dataset.legs`))
	b.click(`[data-scene]:not([hidden]) [data-listen]`)
	b.until(shown + `.querySelector(".listening")?.dataset.sound === "on"`)
	b.shot("expert-heart")
	b.press(kb.ArrowRight)
	b.until(shown + `.dataset.scene !== "` + heart + `"`)
	require.Equal(t, "0", b.value(`document.querySelectorAll(".listening").length`), "what was heard is left behind")
	b.press(kb.ArrowLeft)
	b.until(shown + `.dataset.scene === "` + heart + `"`)

	b.run(`document.querySelector("[data-seek]").focus()`)
	b.press(kb.End)
	b.until(`!document.querySelector("[data-end]").hidden`)
	b.until(shown + `.textContent.includes("Urgency")`)
	b.shot("expert-end")
	require.Eventually(t, func() bool {
		rows, err := b.server.store.WatchedBy(t.Context(), b.who.ID)
		return err == nil && len(rows) == 1 && !rows[0].Done.IsZero()
	}, 10*time.Second, 10*time.Millisecond)
	b.open("/experts")
	b.until(`document.querySelector(".expert-list").textContent.includes("✓ watched")`)
	b.shot("experts")
}
