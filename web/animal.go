package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"
)

// Spot is a region on the drawing: its id, what it is called and where it is,
// in thousandths of the drawing's width and height.
type Spot struct {
	ID, Label string
	Point     [2]int
}

// Drawing is what Animal draws.
type Drawing struct {
	Species  string
	Title    string   // what the drawing is, for those who do not see it
	Dry      bool     // the animal has no udder: it is young, or male
	Spots    []Spot   // in the order in which the arrow keys go through them
	Route    []string // ids of the regions visited, in order
	Moves    []string // ids of regions on the route that are ringed
	Numbers  bool     // the rings are numbered in that order
	Buttons  bool     // the spots are buttons (the examination room); else plain marks
	Accepted bool     // the route is dotted: how it could have been gone
	Name     string   // distinguishes the ids of two drawings on one page
}

// Animal draws a species as inked lines, with its regions and the route walked
// over them. A species without a table of landmarks yields an empty text: the
// list of regions beside the drawing serves alone.
func Animal(d Drawing) template.HTML {
	a, ok := animals[d.Species]
	if !ok {
		return ""
	}
	var b strings.Builder
	name := d.Name
	if name == "" {
		name = "animal"
	}
	role := `role="img"`
	if d.Buttons {
		role = `role="group"`
	}
	fmt.Fprintf(&b, `<svg class="animal" viewBox="%s" %s aria-labelledby="%s-title">`, a.frame, role, name)
	fmt.Fprintf(&b, `<title id="%s-title">%s</title>`, name, template.HTMLEscapeString(d.Title))
	for _, s := range a.strokes {
		if s.udder && d.Dry {
			continue
		}
		fmt.Fprintf(&b, `<path class="%s" d="%s"/>`, s.class, s.path())
	}
	b.WriteString(route(a, d))
	spots(&b, a, d, name)
	moves(&b, a, d)
	b.WriteString(`</svg>`)
	return template.HTML(b.String()) //nolint:gosec // every text in it went through HTMLEscapeString
}

// Posture is how a species is drawn, for the title of its drawing: standing or
// crouching. Without a drawing it is standing.
func Posture(species string) string {
	if a, ok := animals[species]; ok {
		return a.posture
	}
	return "standing"
}

// drawnWidth is the width of every drawing in its own units.
const drawnWidth = 1000

// place turns thousandths into the drawing's own units.
func (a animal) place(p [2]int) (x, y int) { return p[0], p[1] * a.height / 1000 }

// route inks the way through the visited regions.
func route(a animal, d Drawing) string {
	at := map[string][2]int{}
	for _, s := range d.Spots {
		at[s.ID] = s.Point
	}
	var pts []string
	for _, id := range d.Route {
		p, ok := at[id]
		if !ok {
			continue
		}
		x, y := a.place(p)
		pts = append(pts, fmt.Sprintf("%d,%d", x, y))
	}
	class := "route"
	if d.Accepted {
		class += " accepted"
	}
	return fmt.Sprintf(`<polyline class="%s" data-route="" points="%s"/>`, class, strings.Join(pts, " "))
}

// moves rings the regions whose steps would have to move.
func moves(b *strings.Builder, a animal, d Drawing) {
	at := map[string][2]int{}
	for _, s := range d.Spots {
		at[s.ID] = s.Point
	}
	for i, id := range d.Moves {
		p, ok := at[id]
		if !ok {
			continue
		}
		x, y := a.place(p)
		fmt.Fprintf(b, `<circle class="move" cx="%d" cy="%d" r="13"/>`, x, y)
		if d.Numbers {
			fmt.Fprintf(b, `<text x="%d" y="%d">%d</text>`, x+17, y-13, i+1)
		}
	}
}

// spots marks the regions.
func spots(b *strings.Builder, a animal, d Drawing, name string) {
	seen := map[string]bool{}
	for _, id := range d.Route {
		seen[id] = true
	}
	for i, s := range d.Spots {
		x, y := a.place(s.Point)
		class := "spot"
		if seen[s.ID] {
			class += " seen"
		}
		label := template.HTMLEscapeString(s.Label)
		if !d.Buttons {
			if seen[s.ID] {
				fmt.Fprintf(b, `<circle class="%s" cx="%d" cy="%d" r="7"><title>%s</title></circle>`, class, x, y, label)
			}
			continue
		}
		tab := -1
		if i == 0 {
			tab = 0
		}
		fmt.Fprintf(b, `<g class="%s" role="button" tabindex="%d" data-region="%s" aria-label="%s" aria-pressed="false" id="%s-%s">`,
			class, tab, template.HTMLEscapeString(s.ID), label, name, template.HTMLEscapeString(s.ID))
		fmt.Fprintf(b, `<circle class="reach" cx="%d" cy="%d" r="24"/><circle class="dot" cx="%d" cy="%d" r="7"/></g>`, x, y, x, y)
	}
}

// animal is the table of landmarks of one species: left profile, head left.
type animal struct {
	posture string // how it stands or sits, for the title
	height  int    // thousandths of a region's height are of this
	frame   string // the part of the paper that is shown: x, y, width, height
	strokes []stroke
}

// stroke is one line of the pen through landmarks.
type stroke struct {
	class  string // line, fine, far, solid
	closed bool
	udder  bool // of the udder, or of the vein that leads from it
	marks  []landmark
}

// landmark is a point that the pen passes. A sharp one is a corner. The names
// are those of the surface anatomy, so that the table can be corrected against an animal.
type landmark struct {
	x, y  float64
	sharp bool
	name  string
}

// path is the stroke as cubic curves through its landmarks (Catmull-Rom spline
// with the chord's root as parameter, which neither loops nor overshoots), broken at the corners.
func (s stroke) path() string {
	var b strings.Builder
	m := s.marks
	fmt.Fprintf(&b, "M%s %s", num(m[0].x), num(m[0].y))
	n := len(m)
	last := n - 1
	if s.closed {
		last = n
	}
	for i := range last {
		p1, p2 := m[i%n], m[(i+1)%n]
		p0, p3 := p1, p2
		if !p1.sharp && (i > 0 || s.closed) {
			p0 = m[(i-1+n)%n]
		}
		if !p2.sharp && (i+2 < n || s.closed) {
			p3 = m[(i+2)%n]
		}
		c1, c2 := controls(p0, p1, p2, p3)
		fmt.Fprintf(&b, "C%s %s %s %s %s %s", num(c1[0]), num(c1[1]), num(c2[0]), num(c2[1]), num(p2.x), num(p2.y))
	}
	if s.closed {
		b.WriteString("Z")
	}
	return b.String()
}

// controls are the two control points of the curve from p1 to p2.
func controls(p0, p1, p2, p3 landmark) (c1, c2 [2]float64) {
	d1, d2, d3 := span(p0, p1), span(p1, p2), span(p2, p3)
	c1 = [2]float64{p1.x + (p2.x-p1.x)/3, p1.y + (p2.y-p1.y)/3}
	if d1 > 0 {
		c1 = handle(p0, p1, p2, d1, d2)
	}
	c2 = [2]float64{p2.x + (p1.x-p2.x)/3, p2.y + (p1.y-p2.y)/3}
	if d3 > 0 {
		c2 = handle(p3, p2, p1, d3, d2)
	}
	return c1, c2
}

// span is the root of the distance, the parameter of the curve.
func span(a, b landmark) float64 { return math.Sqrt(math.Hypot(b.x-a.x, b.y-a.y)) }

// handle is the control point beside q on the way from q to r, having come from p.
func handle(p, q, r landmark, dp, dr float64) [2]float64 {
	den := 3 * dp * (dp + dr)
	f := func(p, q, r float64) float64 {
		return (dp*dp*r - dr*dr*p + (2*dp*dp+3*dp*dr+dr*dr)*q) / den
	}
	return [2]float64{f(p.x, q.x, r.x), f(p.y, q.y, r.y)}
}

// num writes a coordinate to a tenth, which is finer than any screen shows.
func num(f float64) string {
	s := fmt.Sprintf("%.1f", f)
	return strings.TrimSuffix(s, ".0")
}
