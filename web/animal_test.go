package web

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dewclaw/cases"

	"github.com/stretchr/testify/require"
)

func sample() Drawing {
	return Drawing{
		Species: "dog", Title: `A "dog" <b>`, Route: []string{"heart", "nowhere", "tail"}, Buttons: true,
		Spots: []Spot{{"heart", "Heart & more", [2]int{450, 580}}, {"tail", "Tail", [2]int{886, 500}}},
	}
}

func TestAnimalIsWellFormedAndEscaped(t *testing.T) {
	for name := range animals {
		for _, buttons := range []bool{true, false} {
			d := sample()
			d.Species, d.Buttons, d.Moves = name, buttons, []string{"tail"}
			svg := string(Animal(d))
			dec := xml.NewDecoder(strings.NewReader(svg))
			for {
				if _, err := dec.Token(); err == io.EOF {
					break
				} else {
					require.NoError(t, err)
				}
			}
			require.NotContains(t, svg, "<b>")
			require.NotContains(t, svg, "style=", "the policy of the pages forbids it")
		}
	}
}

func TestAnimalHasOneTabStop(t *testing.T) {
	svg := string(Animal(sample()))
	require.Equal(t, 1, strings.Count(svg, `tabindex="0"`))
	require.Equal(t, 2, strings.Count(svg, `role="button"`))
	require.Contains(t, svg, `aria-label="Heart &amp; more"`)
}

func TestRouteGoesThroughVisitedRegionsInOrder(t *testing.T) {
	svg := string(Animal(sample()))
	require.Contains(t, svg, `data-route="" points="450,417 886,360"`, "580 and 500 thousandths of 720; what has no place is left out")
}

// A calf and a bull are the same animal without udder and milk vein, and nothing else.
func TestADryAnimalHasNoUdder(t *testing.T) {
	for name, a := range animals {
		d := sample()
		d.Species = name
		cow := string(Animal(d))
		d.Dry = true
		dry := string(Animal(d))
		var udder []string
		for _, s := range a.strokes {
			path := fmt.Sprintf(`<path class="%s" d="%s"/>`, s.class, s.path())
			require.Equal(t, !s.udder, strings.Contains(dry, path), "%s: %s", name, s.marks[0].name)
			cow = strings.Replace(cow, path, "", map[bool]int{true: 1}[s.udder])
			if s.udder {
				udder = append(udder, s.marks[0].name)
			}
		}
		require.Equal(t, cow, dry, name)
		require.Equal(t, map[string][]string{"cattle": {"fore udder", "milk vein"}}[name], udder, name)
	}
}

func TestUnknownSpeciesHasNoDrawing(t *testing.T) {
	require.Empty(t, Animal(Drawing{Species: "gryphon"}))
}

// No curve leaves what is shown: a spline that overshoots would.
func TestStrokesStayInTheFrame(t *testing.T) {
	number := regexp.MustCompile(`-?\d+(?:\.\d)?`)
	for name, a := range animals {
		f := frameOf(t, a)
		require.True(t, f[0] >= 0 && f[2] <= drawnWidth && f[1] >= 0 && f[3] <= float64(a.height), "%s: the frame lies on the paper", name)
		for _, s := range a.strokes {
			for i, m := range number.FindAllString(s.path(), -1) {
				v, err := strconv.ParseFloat(m, 64)
				require.NoError(t, err)
				require.True(t, v >= f[i%2] && v <= f[i%2+2], "%s: %v in %s", name, v, s.marks[0].name)
			}
		}
	}
}

// frameOf is the shown part of the paper: left, top, right, bottom.
func frameOf(t *testing.T, a animal) [4]float64 {
	var x, y, w, h float64
	_, err := fmt.Sscan(a.frame, &x, &y, &w, &h)
	require.NoError(t, err)
	return [4]float64{x, y, x + w, y + h}
}

// Every landmark of these is on each drawing: who corrects a table against an
// animal finds the place by its name (common anatomy of the mammals, no source).
func TestDrawingsNameTheirLandmarks(t *testing.T) {
	for name, a := range animals {
		named := map[string]bool{}
		for _, s := range a.strokes {
			for _, m := range s.marks {
				named[m.name] = true
			}
		}
		for _, want := range []string{"eye", "withers", "back", "loin", "elbow", "point of hock", "flank fold", "scapula", "last rib"} {
			require.True(t, named[want], "%s has no %s", name, want)
		}
		require.Contains(t, []string{"standing", "crouching"}, a.posture, name)
	}
}

func TestPosture(t *testing.T) {
	require.Equal(t, "crouching", Posture("rabbit"))
	require.Equal(t, "standing", Posture("horse"))
	require.Equal(t, "standing", Posture("gryphon"))
}

// aside are the regions that are no place of the body.
var aside = []string{"distance", "weight", "gait", "droppings", "faeces"}

// nearest two places may come: two dots of radius 13, as a pressed one is
// drawn, with a gap between them.
const nearest = 34

func TestEverySpeciesIsDrawnWithItsRegionsApart(t *testing.T) {
	lib := cases.Builtin()
	for _, species := range lib.Species() {
		a, ok := animals[species]
		require.True(t, ok, "%s has a catalogue and no drawing", species)
		f := frameOf(t, a)
		placed := map[string][2]float64{}
		for _, r := range lib.Catalogue(species).Regions {
			x, y := a.place(r.Point)
			p := [2]float64{float64(x), float64(y)}
			require.True(t, p[0]-24 >= f[0] && p[0]+24 <= f[2] && p[1]-24 >= f[1] && p[1]+24 <= f[3], "%s: %s at %v leaves the frame %v", species, r.ID, r.Point, f)
			for id, q := range placed {
				d := math.Hypot(p[0]-q[0], p[1]-q[1])
				require.GreaterOrEqual(t, d, float64(nearest), "%s: %s is %.0f from %s", species, r.ID, d, id)
			}
			placed[r.ID] = p
			if slices.Contains(aside, r.ID) {
				require.Greater(t, a.away(p), 24.0, "%s: %s belongs beside the body", species, r.ID)
			} else {
				require.LessOrEqual(t, a.away(p), 24.0, "%s: %s at %v is not on the body", species, r.ID, r.Point)
			}
		}
	}
}

// away is how far a point is from the inked body: nought inside an outline.
func (a animal) away(p [2]float64) float64 {
	least := math.Inf(1)
	for _, s := range a.strokes {
		if s.class != "line" {
			continue
		}
		inside := false
		for i, m := range s.marks {
			q := s.marks[(i+1)%len(s.marks)]
			if (m.y > p[1]) != (q.y > p[1]) && p[0] < m.x+(p[1]-m.y)*(q.x-m.x)/(q.y-m.y) {
				inside = !inside
			}
			least = min(least, math.Hypot(p[0]-m.x, p[1]-m.y), fromSegment(p, m, q))
		}
		if inside && s.closed {
			return 0
		}
	}
	return least
}

// fromSegment is the distance of p from the straight line between two landmarks.
func fromSegment(p [2]float64, m, q landmark) float64 {
	dx, dy := q.x-m.x, q.y-m.y
	t := ((p[0]-m.x)*dx + (p[1]-m.y)*dy) / max(dx*dx+dy*dy, 1e-9)
	t = min(max(t, 0), 1)
	return math.Hypot(p[0]-m.x-t*dx, p[1]-m.y-t*dy)
}
