package server

import (
	"strconv"
	"testing"

	"dewclaw/cases/robot"
	"dewclaw/server/auth"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// TestHeadphonesAreTriedByKeyboard goes from the patients to the sound check
// with keys alone: plays a clip, counts, says which hum is deep, reads what came of it.
func TestHeadphonesAreTriedByKeyboard(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.signIn(browserLogin, browserPassword)
	b.run(`document.querySelector('a[href="/soundcheck"]').focus()`)
	b.press(kb.Enter)
	b.until(`location.pathname === "/soundcheck"`)
	b.shot("soundcheck")

	b.run(`document.querySelector("audio").focus()`)
	b.press(" ")
	b.until(`!document.querySelector("audio").paused && document.querySelector("audio").duration === 16`)
	b.press(" ")
	b.until(`document.querySelector("audio").paused`)
	require.Equal(t, "1", b.value(`new Set([...document.querySelectorAll("audio")].map((a) => a.clientHeight)).size`))

	b.fill("#beats", "1")
	b.run(`document.querySelector('input[name="deep"]').focus()`)
	b.press(" " + kb.ArrowDown + kb.ArrowDown)
	b.press(kb.Enter)
	b.says("[role=status]", "Not passed this time")
	b.says("[role=status]", "Both hums sounded alike to you")
	b.shot("soundcheck-failed")

	drawn, err := b.server.checkOf(b.who, b.value(`document.querySelector("input[name=token]").value`))
	require.NoError(t, err)
	b.fill("#beats", strconv.Itoa(drawn.beats))
	b.run(`document.querySelector('input[name="deep"][value="` + drawn.deep + `"]').focus()`)
	b.press(" " + kb.Enter)
	b.says("[role=status]", "Passed")
	b.shot("soundcheck-passed")
	b.run(`document.querySelector("#beats").focus()`)
	b.press("many" + kb.Enter) // the browser asks for the hum before anything is sent
	b.until(`document.querySelector("input[name=deep]:invalid")`)
}

// TestSoundsAreGrantedByKeyboard: a coordinator gives a student a trace, and the
// debrief of the next visit says so.
func TestSoundsAreGrantedByKeyboard(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	_, err := b.server.AddPerson(t.Context(), "lee", "Lee Example", auth.Coordinator, "nine slow herons wade home")
	require.NoError(t, err)
	b.signIn("lee", "nine slow herons wade home")
	b.open("/people")
	b.run(`[...document.querySelectorAll("td a")].find((a) => a.ariaLabel?.includes("Kim")).focus()`)
	b.press(kb.Enter)
	b.says("#sounds", "How Kim Example is given sounds")
	b.run(`document.querySelector('input[name="traced"]').focus()`)
	b.press(" ")
	b.fill("#why", "By the board, on the student's request.")
	b.press(kb.Tab + kb.Enter)
	b.says(".notice", "Changed, and kept with your name and reason")
	b.says("#sounds", "as a trace")
	b.says("table", "By the board")
	b.shot("people-sounds")
	b.run(`document.querySelector("#why").required = false`)
	b.fill("#why", kb.Tab+kb.Enter)
	b.says("#sounds [role=alert]", "Say by whose decision")

	require.NoError(t, b.server.PlayVisit(t.Context(), b.who.ID, murmurer(t, b.server), "veterinary", robot.Ideal))
	b.open("/")
	b.until(`[...document.querySelectorAll("td")].every((td) => !td.textContent.startsWith("being marked")) || location.reload()`)
	b.says("main", "sounds also as a trace")
	b.shot("patients-sounds")
	b.run(`document.querySelector("tbody a").click()`)
	b.until(`location.pathname.endsWith("/debrief")`)
	b.says(".sounds-given", "How loud something was is not marked")
	b.says(".acts", "Heard: ")
	b.run(`document.querySelector("[data-unfold]").click()`)
	b.shot("debrief-sounds")
}
