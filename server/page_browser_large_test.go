package server

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestSelfStudyHoldsLargeText: with text of twice the size nothing of a drill, an
// expert or one's progress runs out of a narrow telephone.
func TestSelfStudyHoldsLargeText(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.signIn(browserLogin, browserPassword)
	b.size(320, 700, false)
	holds := func(what string) {
		t.Helper()
		b.run(`document.documentElement.style.fontSize = "32px"`)
		require.LessOrEqual(t, len(b.value(`[...document.querySelectorAll("main *")].filter((e) => e.checkVisibility() && !e.closest(".unseen, [hidden], svg") && e.getBoundingClientRect().right > innerWidth + 1).map((e) => e.outerHTML.slice(0, 80)).join()`)), 0, what)
		require.Equal(t, "320", b.value(`document.documentElement.scrollWidth`), what)
	}
	b.open("/drills")
	holds("the drills")
	b.run(`document.querySelector("button[value=which-limb]").click()`)
	b.until(`document.querySelector(".drill-sure")`)
	holds("an item")
	b.run(`document.documentElement.style.fontSize = ""; scrollTo(0, 0); [...document.querySelectorAll("input[name=value]")].at(-1).focus()`)
	b.until(`[...document.querySelectorAll("input[name=value]")].at(-1).getBoundingClientRect().bottom <= document.querySelector(".drill-answer .big").getBoundingClientRect().top`) // nor is what has the focus under the button
	b.open("/experts/dog")
	b.until(`document.querySelector(".played")`)
	holds("an expert")
	b.open("/progress")
	holds("progress")
}
