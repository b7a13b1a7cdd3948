package web

import (
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"

	"dewclaw/cases"

	"github.com/stretchr/testify/require"
)

// pieceRadius is that of the chest piece in thousandths of the drawing's width,
// as web/static/js/chest.js draws it.
const pieceRadius = 30

func TestChestIsWellFormedAndHasNoWriting(t *testing.T) {
	for name, tr := range trunks {
		svg := string(Chest(name))
		require.NotContains(t, svg, "style=", "the policy of the pages forbids it")
		require.NotContains(t, svg, "<title")
		require.Contains(t, svg, tr.shows)
		dec := xml.NewDecoder(strings.NewReader(svg))
		for {
			tok, err := dec.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err, name)
			if text, ok := tok.(xml.CharData); ok {
				require.Empty(t, strings.TrimSpace(string(text)), "%s: nothing is written on the drawing", name)
			}
		}
		for _, step := range cases.Builtin().Catalogue(name).Steps {
			for _, site := range step.Sites {
				require.NotContains(t, strings.ToLower(tr.shows), site, "%s: its words name no site", name)
			}
		}
	}
	require.Empty(t, Chest("gryphon"))
}

// How many ribs a species has on a side: anatomy, from memory.
func TestEveryRibIsDrawn(t *testing.T) {
	ribs := map[string]int{"dog": 13, "cat": 13, "horse": 18, "cattle": 13, "rabbit": 12}
	for _, species := range cases.Builtin().Species() {
		require.Equal(t, ribs[species], strings.Count(string(Chest(species)), `class="rib"`), species)
	}
}

// The ribs stand one behind the other from top to bottom, wide enough apart to
// be told one from the next on a drawing that is 300 px wide.
func TestRibsDoNotCross(t *testing.T) {
	for name, tr := range trunks {
		for i := 2; i <= tr.cage.ribs; i++ {
			for _, curve := range [][]landmark{tr.cage.heads, tr.cage.bows, tr.cage.ends} {
				p, q := tr.cage.at(curve, i-1), tr.cage.at(curve, i)
				require.Greater(t, q.x-p.x, 8.5, "%s: rib %d lies over the one before", name, i)
			}
			p, q := tr.cage.at(tr.cage.bows, i-1), tr.cage.at(tr.cage.bows, i)
			require.Greater(t, (q.x-p.x)*300/float64(tr.frame[2]), 6.0, "%s: the space before rib %d is too narrow to be seen", name, i)
		}
	}
}

// The trunk, its ribs and its landmarks lie in the frame and on the body.
func TestTheTrunkFillsItsFrame(t *testing.T) {
	for name, tr := range trunks {
		body := tr.body(name)
		for i := 1; i <= tr.cage.ribs; i++ {
			for _, m := range tr.cage.rib(i) {
				require.True(t, body.holds(m), "%s: rib %d at %v leaves the body", name, i, m)
			}
		}
		named := map[string]bool{}
		for _, s := range append(tr.strokes, stroke{marks: tr.cover}, stroke{marks: tr.back}, stroke{marks: tr.cage.breast}) {
			for _, m := range s.marks {
				named[m.name] = true
				require.True(t, m.x > float64(tr.frame[0]) && m.x < float64(tr.frame[0]+tr.frame[2]) && m.y > float64(tr.frame[1]) && m.y < float64(tr.frame[1]+tr.frame[3]), "%s: %v leaves the frame", name, m)
			}
		}
		for _, want := range []string{"point of elbow", "point of shoulder", "spine of the blade", "end of the breastbone", "hip", "thigh", "edge of the back muscles"} {
			require.True(t, named[want], "%s has no %s", name, want)
		}
	}
}

// In a standing animal the point of the elbow lies at the fifth or sixth rib
// (common anatomy of the mammals, from memory).
func TestTheElbowCoversTheFifthSpace(t *testing.T) {
	for name, tr := range trunks {
		blade := tr.blade()
		elbow := blade[len(blade)-1]
		require.Contains(t, []int{4, 5, 6}, tr.cage.space(elbow), "%s: the space under the elbow", name)
	}
}

// Every place at which a chest piece is put lies on the trunk with the whole
// piece, on either side: the right side is the same drawing mirrored, so that
// one test of the number holds for both.
func TestEverySiteLiesOnTheTrunk(t *testing.T) {
	for _, species := range cases.Builtin().Species() {
		tr, found := trunks[species], 0
		body := tr.body(species)
		for _, step := range cases.Builtin().Catalogue(species).Steps {
			for _, spot := range step.At {
				found++
				m := tr.place(spot.Point)
				require.True(t, body.holds(m), "%s: %s, %s at %v is off the animal", species, step.ID, spot.Site, spot.Point)
				r := float64(pieceRadius*tr.frame[2]) / 1000
				require.True(t, m.x-r > float64(tr.frame[0]) && m.x+r < float64(tr.frame[0]+tr.frame[2]) && m.y-r > float64(tr.frame[1]) && m.y+r < float64(tr.frame[1]+tr.frame[3]), "%s: %s, %s leaves the frame", species, step.ID, spot.Site)
			}
		}
		require.Greater(t, found, 6, "%s: hardly a site has a place on the drawing", species)
	}
}

// Intercostal spaces of the valves: dog pulmonic left 2 to 4, aortic left 4,
// mitral left 5 (another textbook 5 to 6), tricuspid right 3 to 5; horse pulmonic
// left 3, aortic left 4, mitral left 5, tricuspid right 3 to 4 (textbooks, from
// memory; the dog's in teaching notes on canine heart sounds, read: pulmonic
// left 3 to 4 near the breastbone, aortic above and behind it, mitral left 5 to 6
// near the breastbone, tricuspid right about 4 in the lower third).
func TestHeartSitesLieInTheirSpaces(t *testing.T) {
	for _, row := range []struct {
		species, site string
		spaces        []int
		low           float64 // how far down the space it lies at least, of 1
	}{
		{"dog", "left apex", []int{5, 6}, 2. / 3},
		{"dog", "left base", []int{3, 4}, 0},
		{"dog", "right apex", []int{3, 4, 5}, 2. / 3},
		{"horse", "left apex", []int{5}, .5},
		{"horse", "left base", []int{3, 4}, 0},
		{"horse", "right apex", []int{3, 4}, 0},
		{"cat", "left sternal border", []int{4, 5, 6}, 2. / 3},
		{"cat", "right sternal border", []int{4, 5, 6}, 2. / 3},
	} {
		tr := trunks[row.species]
		for _, spot := range cases.Builtin().Catalogue(row.species).Step("heart.auscultate").At {
			if spot.Site != row.site {
				continue
			}
			m := tr.place(spot.Point)
			n := tr.cage.space(m)
			require.Contains(t, row.spaces, n, "%s, %s lies in space %d", row.species, row.site, n)
			head, end := tr.cage.at(tr.cage.heads, n), tr.cage.at(tr.cage.ends, n)
			require.GreaterOrEqual(t, (m.y-head.y)/(end.y-head.y), row.low, "%s, %s is too high", row.species, row.site)
			row.site = ""
		}
		require.Empty(t, row.site, "%s has no place for it", row.species)
	}
}

// The lungs are listened to behind the shoulder, below the back muscles, above
// a line from the end of the last rib to the elbow (from memory).
func TestLungSitesLieInTheField(t *testing.T) {
	for _, species := range cases.Builtin().Species() {
		tr := trunks[species]
		elbow := tr.blade()[len(tr.blade())-1]
		last := tr.cage.at(tr.cage.ends, tr.cage.ribs)
		for _, spot := range cases.Builtin().Catalogue(species).Step("lungs.auscultate").At {
			m := tr.place(spot.Point)
			n := tr.cage.space(m)
			require.True(t, n >= 3 && n < tr.cage.ribs, "%s, %s lies in space %d", species, spot.Site, n)
			require.Greater(t, m.y, edge(tr.back, m.x), "%s, %s lies on the back muscles", species, spot.Site)
			f := (m.x - elbow.x) / (last.x - elbow.x)
			require.Less(t, m.y, elbow.y+f*(last.y-elbow.y)+12, "%s, %s lies below the lung", species, spot.Site)
		}
	}
}

// edge is the height of a line of landmarks at x.
func edge(marks []landmark, x float64) float64 {
	best := marks[0]
	for i := range 200 {
		if m := along(marks, float64(i)/199); math.Abs(m.x-x) < math.Abs(best.x-x) {
			best = m
		}
	}
	return best.y
}

// place turns thousandths of the drawing into its units.
func (t trunk) place(p [2]int) landmark {
	return landmark{x: float64(t.frame[0]) + float64(p[0]*t.frame[2])/1000, y: float64(t.frame[1]) + float64(p[1]*t.frame[3])/1000}
}

// body is the outline of the animal.
func (t trunk) body(species string) stroke { return strokeOf(animals[species], t.keep[len(t.keep)-1]) }

// holds says whether a point lies inside a closed stroke, taken as a polygon.
func (s stroke) holds(p landmark) bool {
	in := false
	for i, a := range s.marks {
		b := s.marks[(i+1)%len(s.marks)]
		if (a.y > p.y) != (b.y > p.y) && p.x < a.x+(p.y-a.y)*(b.x-a.x)/(b.y-a.y) {
			in = !in
		}
	}
	return in
}

// space is the space between two ribs in which a point lies: as many ribs are in front of it.
func (c cage) space(p landmark) int {
	n := 0
	for i := 1; i <= c.ribs; i++ {
		best := landmark{x: p.x, y: math.Inf(1)}
		for k := range 101 { // quadratic through the three marks of the rib is near enough to the curve that is drawn
			m := along(c.rib(i), float64(k)/100)
			if math.Abs(m.y-p.y) < math.Abs(best.y-p.y) {
				best = m
			}
		}
		if best.x < p.x {
			n++
		}
	}
	return n
}
