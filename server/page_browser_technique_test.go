package server

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
)

// place goes to a region through the list of places.
func (b *browser) place(region string) {
	b.t.Helper()
	b.run(fmt.Sprintf(`document.querySelector('[data-places] [data-region=%q]').click()`, region))
}

// holds waits until an instrument is in the hand; "": hands and eyes.
func (b *browser) holds(instrument string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.querySelector('[data-tray] [aria-checked="true"]')?.dataset.instrument === %q`, instrument))
}

// sounds waits for a state of the player.
func (b *browser) sounds(state string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.querySelector("[data-sound]")?.dataset.sound === %q`, state))
}

// TestTheTray takes instruments up by pointer, by keyboard and by typing.
func TestTheTray(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	visit := b.room()
	b.holds("")
	b.says("[data-stand]", "Across the room")
	b.place("heart")
	b.says("[data-bench]", "Nothing is done here with hands and eyes alone.")
	b.says("[data-take=stethoscope]", "With the stethoscope: 1 way")
	b.click("[data-take=stethoscope]")
	b.holds("stethoscope")
	require.Equal(t, "heart.auscultate", b.value(`document.activeElement.closest(".verb").querySelector("[data-step]").dataset.step`), "the focus goes on to what can be done")
	require.Equal(t, "none", b.value(`getComputedStyle(document.querySelector(".manner") || document.createElement("i")).display || "none"`), "a chest piece is neither gentle nor firm")
	b.says("[data-goes]", "This goes to the animal.")
	b.line("auscultate left apex")
	b.sounds("on")
	b.says("[data-stand]", "At the animal")
	b.until(`document.querySelector("[data-goes]").hidden`)
	b.shot("tray-stethoscope")

	b.run(`document.querySelector("[data-tray] [aria-checked=true]").focus()`)
	b.press(kb.ArrowLeft)
	b.saved()
	require.Equal(t, []string{"examine", "lift"}, b.acts(visit), "what was on the animal is taken off")
	require.Equal(t, "radio", b.value(`document.activeElement.role`))
	require.Equal(t, "true", b.value(`document.activeElement.ariaChecked`))
	b.press(kb.Home)
	b.holds("")
	b.line("auscultate right apex")
	b.holds("stethoscope")
	b.click(`[data-instrument=""]`)
	b.place("abdomen")
	b.until(`document.querySelector("[data-manner=gentle]")`)
	b.click("[data-manner=gentle]")
	b.click(`[data-step="abdomen.palpate"]`)
	b.saved()
	a, err := b.server.attempt(b.ctx, b.who, visit)
	require.NoError(t, err)
	require.Equal(t, "gentle", a.Acts[len(a.Acts)-1].Manner)
	b.place("pulse")
	require.Equal(t, "true", b.value(`document.querySelector("[data-manner=gentle]").ariaPressed`), "the hands keep their manner")
	b.shot("tray-hands")
}

// degrees waits for the reading of the latest find and returns it.
func (b *browser) degrees() float64 {
	b.t.Helper()
	b.until(`document.querySelector("[data-finds] article [data-reading]")`)
	text := b.value(`document.querySelector("[data-finds] article [data-reading]").textContent`)
	figure, rest, _ := strings.Cut(text, " °C")
	require.True(b.t, strings.HasSuffix(rest, ", rectal"), "the site is named: %s", text)
	x, err := strconv.ParseFloat(figure, 64)
	require.NoError(b.t, err, text)
	return x
}

// TestTheThermometer pulls it early, by keyboard, and late, by another act.
func TestTheThermometer(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	visit := b.room()
	b.place("temperature")
	b.run(`document.querySelector("[data-take=thermometer]").focus()`)
	b.press(kb.Enter + kb.Enter)
	b.says("[data-finds]", "In place: let it settle.")
	b.says("[data-lift]", "Take it out")
	b.saved()
	b.press(kb.Escape)
	early := b.degrees()
	require.Equal(t, []string{"examine", "lift"}, b.acts(visit))
	require.Greater(t, early, 20.0)
	require.Less(t, early, 36.0)
	require.Equal(t, "false", b.value(`/early|settle|low/i.test(document.querySelector("[data-finds]").textContent)`), "nothing says that it came out too early")
	b.shot("thermometer-early")

	b.click(`[data-step="temperature.measure"][data-site="rectal"]`)
	b.says("[data-finds] article.open", "In place: let it settle.")
	b.pass(15 * time.Second)
	time.Sleep(500 * time.Millisecond)
	require.Equal(t, "In place: let it settle.", b.value(`document.querySelector(".settled").textContent`))
	b.pass(6 * time.Second)
	b.says(".settled", "it has settled")
	b.shot("thermometer-settled")
	b.line("feel pulse left")
	b.place("temperature")
	late := b.degrees()
	require.Greater(t, late, 37.0)
	require.Less(t, late, 40.5)
	require.Equal(t, []string{"examine", "lift", "examine", "examine"}, b.acts(visit))
}

// TestPicturesInTheRoom looks, reads the words under their fold, and looks again.
func TestPicturesInTheRoom(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.room()
	b.mute.Store(true)
	b.click(`[data-step="breathing.count"]`)
	b.says(".seen-here .wrong", "The picture did not come.")
	b.mute.Store(false)
	b.click(".seen-here button")
	b.until(`document.querySelector(".seen-here img")?.naturalWidth > 0`)
	require.Equal(t, "false", b.value(`document.querySelector(".in-words").open`))
	require.Equal(t, "true", b.value(`(() => { const words = [...document.querySelectorAll(".in-words p")].map((p) => p.textContent).join(" "); return words.length > 20 && words === document.querySelector(".seen-here img").alt })()`))
	b.shot("picture")
	b.press(kb.Escape)
	b.until(`document.querySelector("[data-finds] article:not(.open) > .seen-here canvas[aria-label]")`)
	require.Equal(t, "0", b.value(`document.querySelectorAll("[data-finds] .seen-here img").length`), "what was looked away from stands still: nobody counts on")
	b.click(`[data-step="breathing.count"]`)
	b.until(`document.querySelectorAll("[data-finds] article").length === 2`)
	require.Equal(t, "1", b.value(`document.querySelectorAll("[data-finds] article > .seen-here").length`), "the latest alone is open")
	b.says(".seen-again > summary", "See it again")
	b.run(`document.querySelector(".seen-again > summary").focus()`)
	b.press(kb.Enter)
	b.until(`document.querySelector(".seen-again").open && document.querySelector(".seen-again canvas").width > 0`)
	b.run(`document.querySelector(".in-words > summary").focus()`)
	b.press(kb.Enter)
	b.shot("picture-words")
}

// TestBadMomentsOfListening loses the clip, presses twice, hides the page, is
// refused by the browser and lifts while the clip is still coming.
func TestBadMomentsOfListening(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.room()
	b.run(`window.starts = 0; {const start = AudioBufferSourceNode.prototype.start; AudioBufferSourceNode.prototype.start = function (...a) { starts++; return start.apply(this, a); }}`)
	b.mute.Store(true)
	b.line("auscultate left apex")
	b.sounds("failed")
	b.says(".listen-note", "The sound did not come.")
	b.says("[data-listen]", "Try again")
	b.shot("sound-failed")
	b.mute.Store(false)
	b.run(`document.querySelector("[data-listen]").focus()`)
	b.press(kb.Enter)
	b.sounds("on")
	b.press(kb.Enter)
	b.sounds("off")
	b.run(`document.querySelector("[data-listen]").click(); document.querySelector("[data-listen]").click()`)
	b.sounds("on")

	b.run(`Object.defineProperty(document, "hidden", {value: true, configurable: true}); document.dispatchEvent(new Event("visibilitychange"))`)
	b.sounds("hidden")
	b.says(".listen-note", "Stopped while this page was hidden")
	b.run(`delete document.hidden; document.dispatchEvent(new Event("visibilitychange"))`)
	require.Equal(t, "hidden", b.value(`document.querySelector("[data-sound]").dataset.sound`), "it begins only when asked")
	b.run(`{const real = Object.getOwnPropertyDescriptor(BaseAudioContext.prototype, "state"); window.allow = () => Object.defineProperty(BaseAudioContext.prototype, "state", real); Object.defineProperty(BaseAudioContext.prototype, "state", {get: () => "suspended", configurable: true})}`)
	b.run(`document.querySelector("[data-listen]").click()`)
	b.sounds("refused")
	b.says(".listen-note", "begin with a press: Listen")
	b.run(`allow()`)
	b.press(kb.Enter)
	b.sounds("on")

	b.stall.Store(true)
	b.line("auscultate right apex")
	b.sounds("loading")
	before := b.value("starts")
	b.press(kb.Escape + kb.Escape)
	b.until(`!document.querySelector("[data-sound]")`)
	b.stall.Store(false)
	b.saved()
	time.Sleep(300 * time.Millisecond)
	require.Equal(t, before, b.value("starts"), "nothing is heard of what was lifted while it came")
}

// TestWithoutWebAudio falls back on the plain player.
func TestWithoutWebAudio(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.room()
	b.run(`delete window.AudioContext; window.played = []; {const play = HTMLMediaElement.prototype.play; HTMLMediaElement.prototype.play = function () { played.push(this); return play.call(this); }}`)
	b.line("auscultate left apex")
	b.sounds("on")
	require.Equal(t, "true", b.value(`played[0].loop && Math.abs(played[0].duration - 60) < .1 && !played[0].paused`))
	b.press(kb.Escape + kb.Escape)
	b.until(`played[0].paused`)
}

// grants gives a person other ways to hear, for the visits that are begun from now on.
func (b *browser) grants(want store.Alternatives) {
	b.t.Helper()
	by, err := b.server.AddPerson(b.t.Context(), "ada", "Ada Example", auth.Coordinator, browserPassword)
	require.NoError(b.t, err)
	_, err = b.server.store.GrantAlternatives(b.t.Context(), store.NewGrant{Person: b.who.ID, Want: want, By: by.ID, Reason: "hears little"})
	require.NoError(b.t, err)
}

// inkOf reads how far the trace's ink reaches in every column, with the second of
// the clip under its line.
const inkOf = `(() => { const c = document.querySelector("canvas.trace"), at = Number(c.closest("[data-drawn]").dataset.drawn), p = c.getContext("2d").getImageData(0, 0, c.width, Math.round(c.height * .9));
  const ink = []; for (let x = 0; x < c.width - 6; x++) { let n = 0; for (let y = 0; y < p.height; y++) if (p.data[4 * (y * p.width + x) + 3] > 96) n++; ink.push(n) } return JSON.stringify({at, ink}) })()`

// TestTraceAndWords holds the trace against the clip itself: the ink of four
// seconds goes with the clip's own extent, read by other code, and runs at its speed.
func TestTraceAndWords(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.grants(store.Alternatives{Traced: true, Described: true})
	visit := b.room()
	b.line("auscultate left apex")
	b.sounds("on")
	b.says(".traced", "presence and timing are marked, not loudness")
	b.says(".described", "Described")
	require.Equal(t, "true", b.value(`document.querySelector(".described").textContent.length > 60`), "what is heard is said")
	b.until(`Number(document.querySelector("[data-drawn]")?.dataset.drawn) > 4.5`)
	_, clip, err := b.server.medium(b.ctx, b.who, visit, 1, soundOf)
	require.NoError(t, err)
	var first, second struct {
		At  float64
		Ink []float64
	}
	require.NoError(t, json.Unmarshal([]byte(b.value(inkOf)), &first))
	require.Greater(t, stat.Correlation(first.Ink, extents(clip, first.At, len(first.Ink)), nil), .8)
	require.Less(t, stat.Correlation(first.Ink, extents(clip, first.At+.07, len(first.Ink)), nil), .6, "seven hundredths of a second off are seen to be off")
	time.Sleep(700 * time.Millisecond)
	require.NoError(t, json.Unmarshal([]byte(b.value(inkOf)), &second))
	require.Greater(t, second.At, first.At+.5)
	require.Greater(t, stat.Correlation(second.Ink, extents(clip, second.At, len(second.Ink)), nil), .8)
	b.shot("traced")

	b.media(&emulation.MediaFeature{Name: "prefers-reduced-motion", Value: "reduce"})
	b.until(`Number(document.querySelector("[data-drawn]").dataset.drawn) % 4 === 0`)
	b.media()
	b.press(kb.Escape + kb.Escape)
	b.until(`!document.querySelector("canvas.trace")`)
}

// extents are the root of how far a clip reaches in each of n columns of the four
// seconds before a moment.
func extents(clip []byte, at float64, n int) []float64 {
	const head = 44
	rate := float64(binary.LittleEndian.Uint32(clip[24:]))
	all := (len(clip) - head) / 2
	out := make([]float64, n)
	for x := range out {
		from, to := int((at-4+4*float64(x)/float64(n))*rate), int((at-4+4*float64(x+1)/float64(n))*rate)
		for i := from; i < to; i++ {
			v := int16(binary.LittleEndian.Uint16(clip[head+2*((i+all)%all):]))
			out[x] = max(out[x], math.Sqrt(math.Abs(float64(v))))
		}
	}
	return out
}

// TestThePulseUnderAFinger feels, sees and hears that each beat arrives.
func TestThePulseUnderAFinger(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.room()
	b.place("pulse")
	b.click(`[data-step="pulse.palpate"][data-site="left"]`)
	b.sounds("on")
	b.until(`document.querySelector(".pulse")?.dataset.lift !== undefined`)
	b.run(`window.lifts = []; {const el = document.querySelector(".pulse"), t = setInterval(() => el.isConnected ? lifts.push(Number(el.dataset.lift)) : clearInterval(t), 20)}`)
	b.until(`lifts.length > 150`)
	require.Equal(t, "true", b.value(`Math.max(...lifts) - Math.min(...lifts) > .2`), "it lifts and falls")
	b.says(".pulse button", "Hear the pulse as a tap")
	b.run(`document.querySelector(".pulse button").focus()`)
	b.press(kb.Enter)
	require.Equal(t, "true", b.value(`document.querySelector(".pulse button").ariaPressed`))
	b.shot("pulse")
	b.media(&emulation.MediaFeature{Name: "prefers-reduced-motion", Value: "reduce"})
	b.until(`document.querySelector(".finger .beat").getAttribute("width") > 0`)
	require.Equal(t, "translate(0 20)", b.value(`document.querySelector(".finger g").getAttribute("transform")`), "the finger is still")
	b.media()
}
