package server

import (
	"testing"
	"time"

	"dewclaw/server/store"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// TestWhatNextLeadsOn goes the way of somebody who opens the start page for two
// minutes: new, then after patients in whom the limbs were left out, by keyboard
// to the page that says what it rests on, and into what is offered.
func TestWhatNextLeadsOn(t *testing.T) {
	b := openBrowser(t)
	b.signIn(browserLogin, browserPassword)
	b.says("#next-title", "What next")
	require.Equal(t, "3", b.value(`document.querySelectorAll(".next-row").length`))
	b.says(".next-row", "nothing is known of you yet")
	b.shot("next-new")
	b.open("/progress")
	b.says("#main", "Nothing is known yet.")
	b.shot("progress-new")

	for _, id := range []string{"tansy", "nettle", "juniper", "bosun"} {
		require.NoError(t, b.server.PlayVisit(t.Context(), b.who.ID, id, defaultTrack, weakIn(b.server, "limbs")))
	}
	require.NoError(t, b.server.store.MakePlan(t.Context(), b.who.ID, 1, "breaths-first"))
	require.Eventually(t, func() bool {
		rows, err := b.server.store.Attempts(t.Context(), store.Filter{Person: b.who.ID, State: store.StateGraded})
		return err == nil && len(rows) == 4
	}, 30*time.Second, 20*time.Millisecond)
	b.open("/")
	b.says("#next-title ~ ul", "imbs, spine and gait")
	b.shot("next-weak")
	b.until(`document.querySelector(".masthead a[href='/progress']")`)
	b.run(`document.querySelector(".masthead a[href='/progress']").focus()`)
	b.press(kb.Enter)
	b.says(".skills", "findings of limbs, spine and gait right")
	b.until(`document.querySelectorAll(".forgotten .move").length >= 2`)
	require.Equal(t, b.value(`document.querySelectorAll(".forgotten .move").length`), b.value(`document.querySelectorAll(".forgotten li").length`), "a number on the animal for each line of the list")
	b.says("#plans-title ~ ul", "Before I touch the animal I count its breaths for 30 s.")
	b.shot("progress")

	b.open("/")
	b.until(`document.querySelector(".next-row form[action='/visits'] button")`)
	b.run(`document.querySelector(".next-row form[action='/visits'] button").focus()`)
	b.press(kb.Enter)
	b.until(`location.pathname.startsWith("/visits/")`)
}
