package server

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"dewclaw/server/auth"
)

// TestRangesInABrowser asks for an animal by keyboard, mistypes, and reads what
// staff are told of a school's own file.
func TestRangesInABrowser(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	_, err := b.server.AddPerson(t.Context(), "ada", "Ada Example", auth.Instructor, browserPassword)
	require.NoError(t, err)
	b.signIn("ada", browserPassword)
	b.click(`header a[href="/ranges"]`)
	b.says("h2", "Dog, all ages, all weights")
	b.run(`document.querySelector("#species").focus()`)
	b.press(kb.Tab + "10 wk" + kb.Tab + "5.2" + kb.Enter)
	b.says("h2", "Dog, 10 wk, 5.2 kg")
	require.Equal(t, "5", b.value(`document.querySelectorAll(".ranges > li").length`))
	b.shot("ranges")
	b.run(`document.querySelector("#age").select()`)
	b.fill("#age", "soon"+kb.Enter)
	b.says("[role=alert]", "cannot be read; right would be")
	require.Equal(t, "true", b.value(`document.querySelector("#age").ariaInvalid`))
	b.shot("ranges-wrong")

	path := filepath.Join(b.server.DataDir(), rangesName)
	require.NoError(t, os.WriteFile(path, []byte(rangeColumns+mediumDog+"our.hound,dog,hound,113,,30000,,heart_rate,/min,160,120,50,140,,derived\n"), 0o600))
	b.open("/rubrics")
	b.click(`form[action="/rubrics"] button`)
	b.says(".notice", "read again")
	b.says("main", "low 160 is above high 120")
	b.shot("rubrics-ranges")
	require.NoError(t, os.WriteFile(path, []byte(rangeColumns+mediumDog), 0o600))
	b.click(`form[action="/rubrics"] button`)
	b.says("main", "1 row replaced, 0 rows added")
	b.open("/ranges?species=dog&age=3+y")
	b.says("main", "The school’s own.")
	b.shot("ranges-own")
}
