package server

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dewclaw/cases"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// pad is the selector of the drawing on which a step is done.
func pad(step string) string { return fmt.Sprintf(`[data-chest=%q]`, step) }

// chest opens the room of a patient at a region with the chest piece in the hand.
func (b *browser) chest(caseID, region, step string) (visit string) {
	b.t.Helper()
	b.signIn(browserLogin, browserPassword)
	visit = b.start(caseID)
	b.toChest(region, step)
	return visit
}

func (b *browser) toChest(region, step string) {
	b.t.Helper()
	b.run(fmt.Sprintf(`document.querySelector('.places [data-region=%q]').click()`, region))
	b.run(`[...document.querySelectorAll("[data-take]")].find((e) => e.dataset.take === "stethoscope")?.click()`)
	b.until(fmt.Sprintf(`document.querySelector('%s .chest')`, pad(step)))
}

// onPad is where a point of the drawing, in thousandths from the head and the
// back, is on the screen; mirrored on the right side.
func (b *browser) onPad(step string, point [2]int, right bool) (x, y float64) {
	b.t.Helper()
	b.run(fmt.Sprintf(`document.querySelector('%s .chest-pad').scrollIntoView({block: "center"})`, pad(step)))
	p := point
	if right {
		p[0] = 1000 - p[0]
	}
	at := strings.Split(b.value(fmt.Sprintf(`(() => { const r = document.querySelector('%s .chest').getBoundingClientRect(); return [r.left + r.width * %d / 1000, r.top + r.height * %d / 1000].join(); })()`, pad(step), p[0], p[1])), ",")
	x, err := strconv.ParseFloat(at[0], 64)
	require.NoError(b.t, err)
	y, err = strconv.ParseFloat(at[1], 64)
	require.NoError(b.t, err)
	return x, y
}

// put presses where a point of the drawing is.
func (b *browser) put(step string, point [2]int, right bool) {
	b.t.Helper()
	x, y := b.onPad(step, point, right)
	b.do(chromedp.MouseClickXY(x, y))
}

// drag holds the piece and moves it to another point, and lets go only where it is told to.
func (b *browser) mouse(kind input.DispatchMouseEventType, step string, point [2]int) {
	b.t.Helper()
	x, y := b.onPad(step, point, false)
	_, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonLeft, Buttons: 1, ClickCount: 1})
	require.NoError(b.t, err)
}

// heard are the sites of a visit's examinations, in order.
func (b *browser) heard(visit string) []string {
	b.t.Helper()
	a, err := b.server.attempt(b.ctx, b.who, visit)
	require.NoError(b.t, err)
	sites := []string{}
	for _, act := range a.Acts {
		if act.Kind == "examine" {
			sites = append(sites, act.Step+"@"+act.Site)
		}
	}
	return sites
}

// spot is where a site of a step lies on the drawing.
func spot(t *testing.T, species, step, site string) cases.Spot {
	t.Helper()
	at := cases.Builtin().Catalogue(species).Step(step).At
	i := slices.IndexFunc(at, func(s cases.Spot) bool { return s.Site == site })
	require.GreaterOrEqual(t, i, 0)
	return at[i]
}

// nearness is how loud the room takes the chest piece to be.
func (b *browser) nearness() float64 {
	b.t.Helper()
	x, err := strconv.ParseFloat(b.value(`window.nearness`), 64)
	require.NoError(b.t, err)
	return x
}

// hearNearness lets the page tell what the chest piece tells the player.
func (b *browser) hearNearness() {
	b.t.Helper()
	b.run(`import(document.querySelector('script[src$="room.js"]').src.replace("room.js", "player.js")).then(({Player}) => { const near = Player.prototype.near; Player.prototype.near = function (x) { window.nearness = x; return near.call(this, x); }; })`)
}

func TestTheChestPieceByPointer(t *testing.T) {
	t.Parallel()
	const step = "heart.auscultate"
	b := openBrowser(t)
	visit := b.chest(healthyDog(t, b.server), "heart", step)
	b.hearNearness()
	b.says(pad(step), "You stand at its left side")
	require.NotContains(t, strings.ToLower(b.value(fmt.Sprintf(`document.querySelector('%s .chest').outerHTML`, pad(step)))), "apex", "the drawing names no site")

	b.put(step, [2]int{850, 300}, false)
	b.says(pad(step), "Too far from anything to be heard here.")
	b.put(step, [2]int{500, 965}, false)
	b.says(pad(step), "does not touch the animal there")
	require.Empty(t, b.acts(visit), "off the places nothing is done")

	apex, base := spot(t, "dog", step, "left apex"), spot(t, "dog", step, "left base")
	b.put(step, apex.Point, false)
	b.says(pad(step), "Left apex.")
	b.saved()
	require.Equal(t, []string{step + "@left apex"}, b.heard(visit))
	b.shot("chest-left-apex")

	b.mouse(input.DispatchMouseEventTypeMousePressed, step, apex.Point)
	b.mouse(input.DispatchMouseEventTypeMouseMoved, step, [2]int{apex.Point[0] + 40, apex.Point[1]})
	require.Less(t, b.nearness(), .95, "beside the place it is fainter")
	require.Greater(t, b.nearness(), .5)
	b.mouse(input.DispatchMouseEventTypeMouseReleased, step, [2]int{apex.Point[0] + 40, apex.Point[1]})
	require.Equal(t, []string{"examine"}, b.acts(visit), "within the same place only the loudness changes")
	b.mouse(input.DispatchMouseEventTypeMousePressed, step, [2]int{apex.Point[0] + 40, apex.Point[1]})
	b.mouse(input.DispatchMouseEventTypeMouseMoved, step, base.Point)
	require.Zero(t, b.nearness(), "over the next place the first is not heard")
	require.Equal(t, []string{"examine"}, b.acts(visit), "one act a putting down, not one a movement")
	b.mouse(input.DispatchMouseEventTypeMouseReleased, step, base.Point)
	b.says(pad(step), "Left base.")
	b.saved()

	b.click(pad(step) + " [data-walk]")
	b.says(pad(step), "You stand at its right side.")
	b.saved()
	require.Equal(t, []string{"examine", "examine", "lift"}, b.acts(visit), "whoever walks round takes the chest piece along")
	b.put(step, spot(t, "dog", step, "right apex").Point, true)
	b.says(pad(step), "Right apex.")
	b.saved()
	b.shot("chest-right-apex")
	b.put(step, [2]int{850, 300}, true)
	b.says(pad(step), "Too far from anything")
	b.saved()
	require.Equal(t, []string{step + "@left apex", step + "@left base", step + "@right apex"}, b.heard(visit))
	require.Equal(t, []string{"examine", "examine", "lift", "examine", "lift"}, b.acts(visit), "a chest piece taken off hears no more")
	require.Equal(t, "1", b.value(fmt.Sprintf(`document.querySelectorAll('%s .ring').length`, pad(step))), "one place of this side is marked")
}

func TestTheChestPieceByKeyboard(t *testing.T) {
	t.Parallel()
	const step = "heart.auscultate"
	b := openBrowser(t)
	visit := b.chest(healthyDog(t, b.server), "heart", step)
	for range 60 {
		if b.value(`document.activeElement.className`) == "chest-pad" {
			break
		}
		b.press(kb.Tab)
	}
	require.Equal(t, "Chest piece on the left side of the trunk, head to the left", b.value(`document.activeElement.getAttribute("aria-label")`))
	b.press(kb.Enter)
	b.says(pad(step), "does not touch the animal there")
	b.carry(step, spot(t, "dog", step, "left apex").Point, false)
	b.says(pad(step)+" [aria-live]", "Between ribs 5 and 6, lower third.")
	b.press(kb.Enter)
	b.says(pad(step), "Left apex.")
	b.saved()
	b.press(kb.Enter)
	b.press(" ")
	require.Equal(t, []string{"examine"}, b.acts(visit), "it lies there already")

	b.run(fmt.Sprintf(`document.querySelector('%s [data-walk]').focus()`, pad(step)))
	b.press(kb.Enter)
	b.says(pad(step), "You stand at its right side")
	b.press(kb.Tab)
	b.carry(step, spot(t, "dog", step, "right apex").Point, true)
	b.press(" ")
	b.says(pad(step), "Right apex.")
	b.saved()
	b.press(kb.Escape)
	b.saved()
	require.Equal(t, []string{step + "@left apex", step + "@right apex"}, b.heard(visit))

	b.run(fmt.Sprintf(`document.querySelector('%s summary').click()`, pad(step)))
	b.click(fmt.Sprintf(`%s [data-step=%q][data-site="left base"]`, pad(step), step))
	b.says(pad(step), "You stand at its left side")
	b.says(pad(step), "Left base.")
	b.saved()
	require.Equal(t, step+"@left base", b.heard(visit)[2], "the list leads to the same places")
}

// carry moves the piece by the arrow keys from the hand, half way along and low, to a point.
func (b *browser) carry(step string, to [2]int, right bool) {
	b.t.Helper()
	b.press(strings.Repeat(kb.ArrowUp, 1))
	at := strings.Split(b.value(fmt.Sprintf(`(() => { const c = document.querySelector('%s .chest'), v = c.viewBox.baseVal, [x, y] = c.querySelector(".piece").getAttribute("transform").match(/[0-9.]+/g); return [(x - v.x) / v.width * 100, (y - v.y) / v.width * 100, v.height / v.width].join(); })()`, pad(step))), ",")
	figures := make([]float64, 3)
	for i, s := range at {
		x, err := strconv.ParseFloat(s, 64)
		require.NoError(b.t, err)
		figures[i] = x
	}
	along, down := float64(to[0])/10-figures[0], float64(to[1])/10*figures[2]-figures[1] // in hundredths of the width, which is one press
	forward, back := kb.ArrowLeft, kb.ArrowRight
	if right {
		forward, back = back, forward
	}
	b.press(strings.Repeat(forward, max(0, int(-along+.5))) + strings.Repeat(back, max(0, int(along+.5))) + strings.Repeat(kb.ArrowUp, max(0, int(-down+.5))) + strings.Repeat(kb.ArrowDown, max(0, int(down+.5))))
}

// TestPlacesWithoutNames examines where the places have no names: every site can
// be found by pointer and by rib and height, and the drawing and what stands
// around it name none.
func TestPlacesWithoutNames(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	visit := b.chest(healthyDog(t, b.server), "lungs", "lungs.auscultate")
	b.run(`document.querySelector("[data-room]").dataset.sites = "unlabelled"`)
	b.toChest("heart", "heart.auscultate")
	b.toChest("lungs", "lungs.auscultate")
	step := "lungs.auscultate"
	b.put(step, spot(t, "dog", step, "left cranial").Point, false)
	b.says(pad(step), "The chest piece lies on the animal.")
	b.saved()
	b.run(fmt.Sprintf(`document.querySelector('%s summary').click()`, pad(step)))
	b.shot("chest-unlabelled")

	b.run(fmt.Sprintf(`(() => { const [column, row] = document.querySelectorAll('%s select'); column.selectedIndex = 9; row.selectedIndex = 1; })()`, pad(step)))
	b.click(pad(step) + " [data-put]")
	b.until(`!document.querySelector("[data-status]").textContent.includes("1 act")`)
	b.saved()
	require.Equal(t, []string{step + "@left cranial", step + "@left caudodorsal"}, b.heard(visit), "between the tenth and eleventh rib, high")
	html := strings.ToLower(b.value(fmt.Sprintf(`document.querySelector('%s').outerHTML`, pad(step))))
	for _, name := range []string{"cranial", "caudodorsal", "ventral"} {
		require.NotContains(t, html, name)
	}
}

// TestLoudnessFadesWithDistance holds the law of web/static/js/reach.js: full at
// the place, none half way to the next, falling all the way, and everything that
// a step needs within reach of the words that stand for the drawing.
func TestLoudnessFadesWithDistance(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	b.chest(healthyDog(t, b.server), "heart", "heart.auscultate")
	b.run(`import(document.querySelector('script[src$="room.js"]').src.replace("room.js", "reach.js")).then((m) => { window.reach = m; })`)
	b.until(`window.reach`)
	two := `[{site: "a", x: 0, y: 0}, {site: "b", x: 100, y: 0}]`
	require.Equal(t, "a 1", b.value(`(() => { const f = reach.heard({x: 0, y: 0}, `+two+`, 1000); return f.site + " " + f.nearness; })()`))
	require.Equal(t, "null", b.value(`reach.heard({x: 50, y: 0}, `+two+`, 1000)`), "half way between two nothing is heard of either")
	require.Equal(t, "b", b.value(`reach.heard({x: 60, y: 0}, `+two+`, 1000).site`))
	require.Equal(t, "null", b.value(`reach.heard({x: -200, y: 0}, `+two+`, 1000)`), "nor out of reach")
	require.Equal(t, "true", b.value(`Array.from({length: 45}, (_, i) => reach.heard({x: i, y: 0}, `+two+`, 1000)?.nearness || 0).every((x, i, all) => i === 0 || x < all[i - 1] || x === 0)`))
	require.Equal(t, "null", b.value(`reach.heard({x: 0, y: 0}, [], 1000)`), "a side without places is silent")

	for _, species := range cases.Builtin().Species() {
		for _, step := range cases.Builtin().Catalogue(species).Steps {
			for _, side := range []bool{false, true} {
				var at, want []string
				for _, s := range step.At {
					if s.Right() == side {
						at, want = append(at, fmt.Sprintf(`{site: %q, px: %d, py: %d}`, s.Site, s.Point[0], s.Point[1])), append(want, s.Site)
					}
				}
				if species != "dog" || len(at) == 0 { // the page shows a dog
					continue
				}
				slices.Sort(want)
				got := b.value(fmt.Sprintf(`(() => { const svg = document.querySelector(".chest"), v = svg.viewBox.baseVal, ribs = new reach.Ribs(svg), found = new Set();
					const spots = [%s].map((s) => ({site: s.site, x: v.x + s.px * v.width / 1000, y: v.y + s.py * v.height / 1000}));
					ribs.columns().forEach((_, c) => ribs.heights().forEach((_, r) => { const p = ribs.point(c, r), f = ribs.holds(p) && reach.heard(p, spots, v.width); if (f && f.nearness > 0.5) found.add(f.site); }));
					return [...found].sort().join(); })()`, strings.Join(at, ", ")))
				require.Equal(t, strings.Join(want, ","), got, "%s %s by rib and height", species, step.ID)
			}
		}
	}
}

// TestTheChestPieceByFinger touches, as on a telephone, and looks at the other species.
func TestTheChestPieceByFinger(t *testing.T) {
	t.Parallel()
	const step = "heart.auscultate"
	b := openBrowser(t)
	visit := b.chest(healthyDog(t, b.server), "heart", step)
	b.size(390, 844, true)
	_, err := chromedp.Call(b.ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true})
	require.NoError(t, err)
	x, y := b.onPad(step, spot(t, "dog", step, "left base").Point, false)
	for _, e := range []input.DispatchTouchEventParams{{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: x, Y: y}}}, {Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}}} {
		_, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, e)
		require.NoError(t, err)
	}
	b.says(pad(step), "Left base.")
	b.saved()
	require.Equal(t, []string{step + "@left base"}, b.heard(visit))
	for species, id := range map[string]string{"cat": "", "horse": "", "cattle": "", "rabbit": ""} {
		if *shots == "" {
			break
		}
		for _, k := range b.server.library.Cases() {
			if k.Species == species && k.Use == practice {
				id = k.ID
			}
		}
		b.size(1280, 900, false)
		b.start(id)
		b.toChest("lungs", "lungs.auscultate")
		b.picture("chest-" + species)
	}
}

// TestTheChestPieceGoesWhereAnActWasNamed types two places: one walks to their
// side, the piece lies there, and it does so after the page is loaded again.
func TestTheChestPieceGoesWhereAnActWasNamed(t *testing.T) {
	t.Parallel()
	const step = "heart.auscultate"
	b := openBrowser(t)
	visit := b.chest(healthyDog(t, b.server), "heart", step)
	lies := func(site, side string) {
		t.Helper()
		b.says(pad(step), "You stand at its "+side+" side.")
		b.until(fmt.Sprintf(`document.querySelector('%s .chest-pad.lies')`, pad(step)))
		at := spot(t, "dog", step, site)
		got := b.value(fmt.Sprintf(`(() => { const {x, y, width, height} = document.querySelector('%s .chest').viewBox.baseVal, [, px, py] = document.querySelector('%s .piece').getAttribute("transform").match(/translate\(([\d.]+) ([\d.]+)\)/); return [Math.round((px - x) * 1000 / width), Math.round((py - y) * 1000 / height)] })()`, pad(step), pad(step)))
		require.Equal(t, fmt.Sprintf("%d,%d", at.Point[0], at.Point[1]), got)
	}
	b.line("auscultate right apex")
	lies("right apex", "right")
	b.line("auscultate left base")
	lies("left base", "left")
	b.open("/visits/" + visit)
	b.toChest("heart", step)
	lies("left base", "left")
}
