package cases

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// anyPatient is a patient of a species.
func anyPatient(t testing.TB, species string) *Patient {
	t.Helper()
	l := Builtin()
	for _, c := range l.Cases() {
		if c.Species == species {
			p, err := NewPatient(l, c, SeedOf(7))
			require.NoError(t, err)
			return p
		}
	}
	require.Fail(t, "no case of "+species)
	return nil
}

// with is the patient with one field as it is to be, at every site.
func (p *Patient) with(field, value string) *Patient {
	q := *p
	q.truth.values = slices.Clone(p.truth.values)
	for _, site := range sitesOf(p.cat.Field(field)) {
		q.truth.set(rubric.Place{Field: field, Site: site}, value)
	}
	return &q
}

// plain is the patient with every field of a step normal, and with a node to feel.
func (p *Patient) plain(step *Step) *Patient {
	for _, id := range step.Reveals {
		if f := p.cat.Field(id); len(f.Normal) > 0 {
			p = p.with(id, f.Normal[0])
		}
		if strings.HasSuffix(id, ".size") && strings.HasPrefix(id, "node.") {
			p = p.with(id, p.cat.Field(id).Of[1].ID)
		}
	}
	return p
}

// lookAt is the picture of a step.
func (p *Patient) lookAt(step *Step) senses.Picture {
	site := ""
	if len(step.Sites) > 0 {
		site = step.Sites[0]
	}
	return lookOf(step).draw(&view{p: p, step: step, site: site})
}

// stillSteps calls do with every step of every species that has a still picture.
func stillSteps(t *testing.T, do func(p *Patient, step *Step, row *look)) {
	t.Helper()
	for _, species := range Builtin().Species() {
		p := anyPatient(t, species)
		for i := range p.cat.Steps {
			step := &p.cat.Steps[i]
			if row := lookOf(step); row != nil && slices.ContainsFunc(stillLooks, func(l look) bool { return l.name == row.name }) {
				do(p.plain(step), step, row)
			}
		}
	}
}

// values are the choices of a field, or the points of a score.
func values(f *Field) []string {
	var out []string
	for i, c := range f.Of {
		if f.Kind == "score" {
			out = append(out, strconv.Itoa(i+1))
			continue
		}
		out = append(out, c.ID)
	}
	return out
}

// Every choice that a step shows has a picture of its own, of one length.
func TestEveryChoiceIsDrawn(t *testing.T) {
	n := 0
	length := len(senses.Gum{}.Picture().Bytes)
	stillSteps(t, func(p *Patient, step *Step, row *look) {
		for _, id := range row.shows {
			f := p.cat.Field(id)
			if f == nil || !slices.Contains(step.Reveals, id) {
				continue
			}
			drawn := map[string]string{}
			for _, value := range values(f) {
				pic := p.with(id, value).lookAt(step)
				where := fmt.Sprintf("%s, %s, %s %q", p.cat.Species, step.ID, id, value)
				require.Equal(t, "image/svg+xml", pic.Type, where)
				require.Len(t, pic.Bytes, length, where)
				require.Empty(t, drawn[string(pic.Bytes)], "%s looks like another", where)
				drawn[string(pic.Bytes)] = value
				require.True(t, hasRow(id, value), "no row for %s", where)
				n++
			}
		}
	})
	require.Greater(t, n, 500)
}

// hasRow says whether a table knows a choice.
func hasRow(field, value string) bool {
	switch {
	case field == "mm.colour":
		_, ok := senses.Tissue(value)
		return ok
	case field == "body.condition":
		return true
	case strings.HasSuffix(field, ".size"):
		_, ok := nodeSizes[value]
		return ok
	case strings.HasSuffix(field, ".texture"):
		_, ok := nodeTextures[value]
		return ok
	case lumps[field] != nil:
		_, ok := lumps[field][value]
		return ok
	case strings.HasSuffix(field, ".response"):
		field = "response"
	}
	_, ok := strokes[field][value]
	return ok
}

// No table holds a choice that no catalogue has.
func TestNoRowOfAPictureIsDead(t *testing.T) {
	known := map[string]bool{}
	for _, species := range Builtin().Species() {
		for _, f := range Builtin().Catalogue(species).Fields {
			for _, c := range f.Of {
				known[f.ID+"/"+c.ID] = true
				if strings.HasSuffix(f.ID, ".response") {
					known["response/"+c.ID] = true
				}
			}
		}
	}
	for field, row := range strokes {
		for choice := range row {
			require.True(t, known[field+"/"+choice], "%s %s", field, choice)
		}
	}
	for field, row := range lumps {
		for choice := range row {
			require.True(t, known[field+"/"+choice], "%s %s", field, choice)
		}
	}
	for _, l := range stillLooks {
		used := slices.ContainsFunc(Builtin().Species(), func(sp string) bool {
			return slices.ContainsFunc(Builtin().Catalogue(sp).Steps, func(s Step) bool { row := lookOf(&s); return row != nil && row.name == l.name })
		})
		require.True(t, used, "no step has the picture %q", l.name)
	}
}

// Patients that differ only in what a step does not reveal look alike at it.
func TestAPictureShowsNoMoreThanItsStep(t *testing.T) {
	n := 0
	stillSteps(t, func(p *Patient, step *Step, row *look) {
		q := p
		for i := range p.cat.Fields {
			f := &p.cat.Fields[i]
			if v := values(f); len(v) > 1 && !slices.Contains(step.Reveals, f.ID) {
				q = q.with(f.ID, v[len(v)-1])
				n++
			}
		}
		require.Equal(t, string(p.lookAt(step).Bytes), string(q.lookAt(step).Bytes), "%s %s", p.cat.Species, step.ID)
	})
	require.Greater(t, n, 5000)
}

// The other side of the animal is not seen.
func TestAPictureShowsTheSideThatIsLookedAt(t *testing.T) {
	p := anyPatient(t, "dog")
	step := p.cat.Step("ears.otoscopy")
	p = p.plain(step)
	q := *p
	q.truth.values = slices.Clone(p.truth.values)
	q.truth.set(rubric.Place{Field: "ear.canal", Site: "left"}, "grass")
	draw := func(p *Patient, site string) string {
		return string(lookOf(step).draw(&view{p: p, step: step, site: site}).Bytes)
	}
	require.NotEqual(t, draw(p, "left"), draw(&q, "left"))
	require.Equal(t, draw(p, "right"), draw(&q, "right"))
}

var (
	idOf    = regexp.MustCompile(`(?:id|class)="([^"]*)"`)
	refOf   = regexp.MustCompile(`url\(([^)]*)\)`)
	letters = regexp.MustCompile(`<text[^>]*>([^<]*)</text>`)
)

// What a picture says in letters is the same whatever it shows: no name of a
// finding, no script, nothing fetched. The reader of encoding/xml takes it whole.
func TestAStillPictureNamesNothing(t *testing.T) {
	allowed := []string{"10 mm", "jaw", "below the ear", "throat"}
	stillSteps(t, func(p *Patient, step *Step, row *look) {
		for _, id := range row.shows {
			if f := p.cat.Field(id); f != nil {
				v := values(f)
				namesNothing(t, p.with(id, v[len(v)-1]).lookAt(step).Bytes, allowed)
			}
		}
	})
}

func namesNothing(t *testing.T, svg []byte, allowed []string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	d.Strict = true
	elements := []string{"svg", "style", "path", "ellipse", "g", "clipPath", "text"}
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.Comment, xml.Directive, xml.ProcInst:
			require.Fail(t, "neither comments nor instructions", "%T", x)
		case xml.StartElement:
			require.Contains(t, elements, x.Name.Local)
			for _, a := range x.Attr {
				require.NotContains(t, a.Name.Local, "href")
				require.False(t, strings.HasPrefix(a.Name.Local, "on"))
			}
		}
	}
	for _, m := range idOf.FindAllSubmatch(svg, -1) {
		require.LessOrEqual(t, len(m[1]), 2, "%s", m[0])
	}
	for _, m := range refOf.FindAllSubmatch(svg, -1) {
		require.LessOrEqual(t, len(m[1]), 3, "%s", m[0])
		require.Equal(t, byte('#'), m[1][0])
	}
	for _, m := range letters.FindAllSubmatch(svg, -1) {
		require.Contains(t, allowed, string(m[1]))
	}
}
