package server

import (
	"os"
	"path/filepath"
	"testing"

	"dewclaw/rubric"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// room opens an examination room with a healthy dog.
func (b *browser) room() (visit string) {
	b.t.Helper()
	b.signIn(browserLogin, browserPassword)
	return b.start(healthyDog(b.t, b.server))
}

// tabTo presses Tab until the focus is where it is wanted.
func (b *browser) tabTo(there string) {
	b.t.Helper()
	for range 60 {
		b.press(kb.Tab)
		if b.value(there) == "true" {
			return
		}
	}
	require.Fail(b.t, "no Tab leads there: "+there)
}

// TestTheRoomByKeyboardAlone goes from the top of the page to a charted line
// with Tab, arrows and Enter.
func TestTheRoomByKeyboardAlone(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	visit := b.room()
	b.tabTo(`document.activeElement.matches(".animal [data-region]")`)
	require.Equal(t, "distance", b.value(`document.activeElement.dataset.region`), "the drawing is one tab stop")
	b.press(kb.ArrowRight + kb.End + kb.Home + kb.ArrowDown)
	require.Equal(t, "weight", b.value(`document.activeElement.dataset.region`), "arrows go by the route")
	b.says("[data-animal-caption]", "weight")
	b.press(kb.Enter)
	b.says("[data-region-name]", "weight")
	require.Equal(t, "true", b.value(`document.activeElement.matches("[data-region-name]")`), "the focus follows to the work")

	b.tabTo(`document.activeElement.dataset.take === "scales"`) // first they are taken up
	b.press(kb.Enter)
	require.Equal(t, "weight.measure", b.value(`document.activeElement.dataset.step`))
	b.press(kb.Enter)
	b.until(`document.querySelector("[data-lift]")`)
	b.press(kb.Escape)
	b.saved()
	b.tabTo(`document.activeElement.matches("[data-chart] [data-line] input")`)
	b.press("14.2" + kb.Enter)
	b.saved()
	require.Equal(t, []string{"examine", "lift", "record"}, b.acts(visit))

	b.run(`document.getElementById("tab-animal").focus()`)
	b.press(kb.ArrowRight)
	require.Equal(t, "tab-owner", b.value(`document.activeElement.id`))
	require.Equal(t, "false", b.value(`document.getElementById("panel-owner").hidden`))
}

// TestTwoWindowsOfOneVisit lets another window be faster: its act is taken in,
// the own one follows with a new number, and the person is told.
func TestTwoWindowsOfOneVisit(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	visit := b.room()
	_, err := b.server.act(b.ctx, visitor{person: b.who}, visit, 0, "other-window-1", rubric.Act{Kind: rubric.Wait, Seconds: 30})
	require.NoError(t, err)
	b.click(`[data-step="distance.observe"]`)
	b.says("[data-status]", "One act from another window came first")
	b.until(`document.querySelector("[data-finds] article")`)
	require.Equal(t, []string{"wait", "examine"}, b.acts(visit))
}

// TestLostAnswerIsNotASecondAct cuts the connection after the server has
// written an act and before the browser heard of it.
func TestLostAnswerIsNotASecondAct(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	visit := b.room()
	b.swallow.Store(true)
	b.click(`[data-step="distance.observe"]`)
	b.says("[data-status]", "waiting for the connection, 1 act kept here")
	require.Equal(t, []string{"examine"}, b.acts(visit))
	b.down.Store(false)
	b.do(chromedp.Reload())
	b.ready()
	b.saved()
	require.Equal(t, []string{"examine"}, b.acts(visit), "sent again with the same retry after a reload, it is the same act")
}

// TestOtherWaysOfLooking prints, and looks with forced colours and reduced motion.
func TestOtherWaysOfLooking(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	visit := b.room()
	b.click(`[data-step="distance.observe"]`)
	b.until(`document.querySelector(".watch-hand")`)
	b.media(&emulation.MediaFeature{Name: "forced-colors", Value: "active"}, &emulation.MediaFeature{Name: "prefers-reduced-motion", Value: "reduce"})
	require.Equal(t, "0", b.value(`document.getAnimations().length`))
	b.picture("room-forced-colors")
	b.media()
	_, err := b.server.finish(b.ctx, b.who, visit)
	require.NoError(t, err)
	b.onward(visit)
	b.open("/visits/" + visit)
	b.until(`location.pathname.endsWith("/debrief")`)
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF())
	require.NoError(t, err)
	require.Greater(t, len(pdf), 10000)
	if *shots != "" {
		require.NoError(t, os.WriteFile(filepath.Join(*shots, "debrief.pdf"), pdf, 0o644))
	}
	_, err = chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	require.NoError(t, err)
	require.Equal(t, "none", b.value(`getComputedStyle(document.querySelector(".masthead nav")).display`))
	b.picture("debrief-print")
}

// picture saves the page as it stands, where pictures are wanted.
func (b *browser) picture(name string) {
	b.t.Helper()
	if *shots == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	require.NoError(b.t, err)
	require.NoError(b.t, os.WriteFile(filepath.Join(*shots, name+".png"), png, 0o644))
}
