package web

import (
	"encoding/xml"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

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

func TestUnknownSpeciesHasNoDrawing(t *testing.T) {
	require.Empty(t, Animal(Drawing{Species: "gryphon"}))
}

// No curve leaves the paper: a spline that overshoots would.
func TestStrokesStayOnThePaper(t *testing.T) {
	number := regexp.MustCompile(`-?\d+(?:\.\d)?`)
	for name, a := range animals {
		for _, s := range a.strokes {
			for i, m := range number.FindAllString(s.path(), -1) {
				v, err := strconv.ParseFloat(m, 64)
				require.NoError(t, err)
				most := float64(drawnWidth)
				if i%2 == 1 {
					most = float64(a.height)
				}
				require.True(t, v >= 0 && v <= most, "%s: %v in %s", name, v, s.marks[0].name)
			}
		}
	}
}
