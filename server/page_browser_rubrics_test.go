package server

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// TestInstructorMarksVisitsAnew reads the rubrics, works out what a newer
// version changes, unfolds a visit, accepts by keyboard and puts all back.
func TestInstructorMarksVisitsAnew(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	dir := filepath.Join(b.server.DataDir(), rubricFolder)
	require.NoError(t, os.MkdirAll(dir, 0o700))
	_, err := b.server.AddPerson(t.Context(), "ada", "Ada Example", auth.Instructor, browserPassword)
	require.NoError(t, err)
	ids := b.server.Practice()
	for i := range 26 {
		acts := func(p *cases.Patient, k rubric.Key) []rubric.Act { return robot.Typical(p, k, 1+i%4, uint64(i)) }
		require.NoError(t, b.server.PlayVisit(t.Context(), b.who.ID, ids[i%len(ids)], "veterinary", acts))
	}
	require.Eventually(t, func() bool {
		waiting, err := b.server.store.ToGrade(t.Context(), 1)
		return err == nil && len(waiting) == 0
	}, 30*time.Second, 20*time.Millisecond)
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	write("ours.yaml", version2(t, "vitals: 20, handling: 10", "vitals: 15, handling: 15", "pass: 70", "pass: 74", "rules:\n", addedRule,
		"  - {step: mouth.refill, weight: essential, when: [routine, focused]}\n", ""))
	write("broken.yaml", strings.Replace(version2(t), "weight: essential", "weight: heavy", 2))

	b.signIn("ada", browserPassword)
	b.open("/rubrics")
	b.click(`form[action="/rubrics"] button`)
	b.says(".notice", "read again")
	b.shot("rubrics")
	b.click(`main a[href^="/rubrics/veterinary"]`)
	b.until(`document.querySelector(".rubric")`)
	require.Eventually(t, func() bool { return b.server.weighing(b.server.shelf.Load().current("veterinary")) != nil }, time.Minute, 50*time.Millisecond)
	b.open("/rubrics/veterinary")
	b.shot("rubric")
	b.open("/rubrics/veterinary?when=triage")
	b.shot("rubric-triage")

	b.open("/rubrics/veterinary/regrade")
	b.click(`form button.main`)
	b.until(`location.search.startsWith("?of=")`)
	of := strings.TrimPrefix(b.value("location.search"), "?of=")
	require.Eventually(t, func() bool {
		g, err := b.server.store.Regrading(t.Context(), of)
		return err == nil && g.State == store.RegradeProposed
	}, 30*time.Second, 20*time.Millisecond)
	b.open("/rubrics/veterinary/regrade?of=" + of)
	b.says("main", "Page 1 of 2")
	b.shot("regrade")
	b.run(`document.querySelector(".changed summary").focus()`)
	b.press(kb.Enter)
	b.until(`document.querySelector(".changed").open`)
	b.shot("regrade-unfolded")
	b.fill("#reason", "The new weights were announced in October.")
	b.press(kb.Tab + kb.Enter)
	b.says(".notice", "26 visits are now marked by the newer version")
	b.shot("regrade-accepted")
	b.fill("#reason", "Announced for next term only.")
	b.press(kb.Tab + kb.Enter)
	b.says(".notice", "26 visits are marked as before again")
	all, err := b.server.store.Regradings(t.Context(), "veterinary")
	require.NoError(t, err)
	require.Len(t, all, 1)
	require.Equal(t, store.RegradeUndone, all[0].State)
}
