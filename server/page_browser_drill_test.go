package server

import (
	"fmt"
	"testing"
	"time"

	"dewclaw/cases/drill"
	"dewclaw/server/store"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// item is the newest item of the drill on the page, as the server keeps it.
func (b *browser) item() (n int, it drill.Item) {
	b.t.Helper()
	id := b.value(`location.pathname.split("/")[2]`)
	_, items, err := b.server.store.OwnDrill(b.t.Context(), b.who.ID, id)
	require.NoError(b.t, err)
	it, err = drill.Decode(b.server.library, items[len(items)-1].Item)
	require.NoError(b.t, err)
	return len(items), it
}

// rightKey is the number key of the right answer.
func (b *browser) rightKey() string {
	b.t.Helper()
	_, it := b.item()
	for i, c := range it.Face().Choices {
		if res, err := it.Answer(drill.Answer{Value: c.ID}); err == nil && res.Right {
			return fmt.Sprint(i + 1)
		}
	}
	b.t.Fatal("nothing that is offered is right")
	return ""
}

// hidePage has the page hidden for so long.
func (b *browser) hidePage(d time.Duration) {
	b.run(`Object.defineProperty(document, "hidden", {value: true, configurable: true}); document.dispatchEvent(new Event("visibilitychange"))`)
	b.run(fmt.Sprintf(`{const now = Date.now.bind(Date); Date.now = () => now() + %d}`, d.Milliseconds()))
	b.run(`Object.defineProperty(document, "hidden", {value: false, configurable: true}); document.dispatchEvent(new Event("visibilitychange"))`)
}

// TestADrillIsDoneByKeyboard goes one whole drill by keys alone: murmurs, of which
// one sound stalls, one page sleeps and one answer is wrong; to the end, and on
// to another.
func TestADrillIsDoneByKeyboard(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.signIn(browserLogin, browserPassword)
	b.open("/drills")
	b.shot("drills")
	b.run(`document.querySelector('input[name=species][value=dog]').focus()`)
	b.press(" ")
	b.run(`document.querySelector('button[value=murmurs]').focus()`)
	b.press(kb.Enter)
	b.until(`document.querySelector("[data-sounds]")?.dataset.state === "on"`)
	require.Equal(t, "0", b.value(`document.querySelectorAll("audio").length`), "one player in place of the plain ones")
	b.shot("drill-asked")
	b.press("p")
	b.until(`document.querySelector("[data-sounds]").dataset.state === "off"`)

	// A sound that does not come: tried again, then left out; it does not count.
	b.mute.Store(true)
	b.press(b.rightKey() + "s") // sure of it
	b.says(".drill-told", "Right")
	require.Equal(t, "true", b.value(`document.activeElement.matches("[data-next]")`))
	b.press(kb.Enter)
	b.until(`document.querySelector("[data-sounds]")?.dataset.state === "failed"`)
	b.says("[data-sounds]", "The sound did not come")
	b.shot("drill-stalled")
	b.run(`document.querySelector("[data-void] button").focus()`)
	b.press(kb.Enter)
	b.says("h1", "This one does not count")
	b.shot("drill-void")
	b.mute.Store(false)

	// A page that sleeps while one listens.
	b.press(kb.Enter)
	b.until(`document.querySelector("[data-sounds]")?.dataset.state === "on"`)
	b.hidePage(5 * time.Second)
	require.Equal(t, "true", b.value(`Boolean(document.querySelector("[data-asked]"))`), "five seconds are nothing")
	b.hidePage(11 * time.Second)
	b.says("main", "away for more than ten seconds")
	b.press(kb.Enter)

	// A wrong answer, and the sound goes on beside the right one.
	b.until(`document.querySelector("[data-sounds]")?.dataset.state === "on"`)
	n, _ := b.item()
	wrong := map[bool]string{true: "2", false: "1"}[b.rightKey() == "1"]
	b.press(wrong + kb.Enter)
	b.says(".drill-told", "Not right")
	b.says(".drill-told", "You said")
	b.until(`document.querySelector("[data-sounds]").dataset.state === "on"`)
	b.shot("drill-wrong")
	b.down.Store(true)
	b.press(kb.Enter)
	b.says("[data-says]", "There is no connection")
	b.down.Store(false)
	b.press(kb.Enter)
	b.says(".drill-head", "3 of 6")

	for range 4 {
		b.until(`document.querySelector("[data-asked] [data-sounds]")`)
		b.press(b.rightKey() + kb.Enter)
		b.says(".drill-told", "Right")
		b.press(kb.Enter)
		b.until(`!document.querySelector(".drill-told")`)
	}
	b.says("main", "You had 5 of 6 right.")
	b.says("main", "2 items do not count")
	b.shot("drill-end")
	_, items, err := b.server.store.OwnDrill(t.Context(), b.who.ID, b.value(`location.pathname.split("/")[2]`))
	require.NoError(t, err)
	require.Equal(t, []string{store.ItemMarked, store.ItemVoid, store.ItemVoid, store.ItemMarked}, []string{items[0].State, items[1].State, items[2].State, items[3].State})
	require.Equal(t, []int{95, 0}, []int{items[0].Sure, items[n-1].Mark})
	was := b.value(`location.pathname`)
	b.press(kb.Enter)
	b.until(`document.querySelector("[data-asked]") && location.pathname !== "` + was + `"`)
	b.shotKinds()
}

// shotKinds takes pictures of one item of every kind.
func (b *browser) shotKinds() {
	if *shots == "" {
		return
	}
	for _, k := range drill.Kinds() {
		b.open("/drills")
		b.run(fmt.Sprintf(`document.querySelector('button[value="%s"]').click()`, k.ID))
		b.until(`document.querySelector("[data-asked]")`)
		b.until(`[...document.images].every((x) => x.complete) && document.querySelector("[data-sounds]")?.dataset.state !== "loading"`)
		b.shot("kind-" + k.ID)
	}
}
