package web

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
)

// trunk is what Chest draws of one species: a part of its drawing in animals,
// nearer, with the bones that one feels. All numbers are in that drawing's units.
type trunk struct {
	frame   [4]int   // the part of the drawing: left, top, width, height
	shows   string   // the landmarks in words, for those who do not see them
	keep    []string // strokes of the animal that it takes over, by the name of their first landmark; the last is the body
	cage    cage
	cover   []landmark // shoulder and upper arm, under which the ribs are hard to feel: from the point of the shoulder round the blade to the point of the elbow, and back below
	back    []landmark // the lower edge of the back muscles, under which the ribs begin
	strokes []stroke
}

// cage are the ribs of one side. Its curves are given at equal steps in the
// number of the rib, so that the first mark belongs to the first rib and the
// last mark to the last.
type cage struct {
	ribs, sternal int        // how many; how many of them reach the breastbone by a cartilage of their own
	heads         []landmark // where the ribs leave the spine
	bows          []landmark // where they bend
	ends          []landmark // where the bone ends and the cartilage begins
	breast        []landmark // where the cartilages of the sternal ribs meet the breastbone
}

// Chest draws the trunk of a species from its left, head to the left, as a
// chest piece is put on it. Nothing is written on it. A species without a table
// yields an empty text: the names of the sites serve alone.
//
// A site's point is in thousandths of this drawing, from the head to the tail
// and from the back to the ground. The right side is the same drawing mirrored
// by whoever shows it, so that there too 0 is at the head.
func Chest(species string) template.HTML {
	t, ok := trunks[species]
	if !ok {
		return ""
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chest" viewBox="%d %d %d %d" aria-hidden="true" focusable="false" data-shows="%s"><g data-side="">`,
		t.frame[0], t.frame[1], t.frame[2], t.frame[3], template.HTMLEscapeString(t.shows))
	body := ""
	for _, name := range t.keep {
		s := strokeOf(animals[species], name)
		body = s.path()
		fmt.Fprintf(&b, `<path class="%s" d="%s"/>`, s.class, body)
	}
	t.cage.draw(&b)
	for _, veil := range [][]landmark{t.overBack(), t.cover} {
		fmt.Fprintf(&b, `<path class="veil" d="%s"/>`, stroke{closed: true, marks: veil}.path())
	}
	fmt.Fprintf(&b, `<path class="outline" d="%s" data-body=""/>`, body)
	for _, edge := range [][]landmark{t.back, t.blade()} {
		fmt.Fprintf(&b, `<path class="fine" d="%s"/>`, stroke{marks: edge}.path())
	}
	for _, s := range t.strokes {
		fmt.Fprintf(&b, `<path class="%s" d="%s"/>`, s.class, s.path())
	}
	b.WriteString(`</g></svg>`)
	return template.HTML(b.String()) //nolint:gosec // every text in it went through HTMLEscapeString
}

// blade is the visible part of the cover's edge: round the shoulder blade and
// down the back of the upper arm to the elbow.
func (t trunk) blade() []landmark {
	i := slices.IndexFunc(t.cover, func(m landmark) bool { return m.name == "point of elbow" })
	return t.cover[:i+1]
}

// muscle is how high the back muscles stand over their lower edge, at most.
const muscle = 26

// overBack is the part of the back muscles that lies over the ribs.
func (t trunk) overBack() []landmark {
	marks := slices.Clone(t.back)
	for i := len(t.back) - 1; i >= 0; i-- {
		marks = append(marks, landmark{x: t.back[i].x, y: t.back[i].y - muscle})
	}
	marks[0].sharp, marks[len(t.back)-1].sharp, marks[len(t.back)].sharp, marks[len(marks)-1].sharp = true, true, true, true
	return marks
}

// strokeOf is the stroke of an animal whose first landmark has this name.
func strokeOf(a animal, name string) stroke {
	i := slices.IndexFunc(a.strokes, func(s stroke) bool { return s.marks[0].name == name })
	return a.strokes[i]
}

// draw inks the ribs from the last to the first, so that each lies over the one behind it.
func (c cage) draw(b *strings.Builder) {
	fmt.Fprintf(b, `<path class="gristle" d="%s"/>`, stroke{marks: c.breast}.path())
	fmt.Fprintf(b, `<path class="gristle" d="%s"/>`, stroke{marks: c.arch()}.path())
	for i := c.sternal; i >= 1; i-- {
		fmt.Fprintf(b, `<path class="gristle" d="%s"/>`, stroke{marks: []landmark{c.at(c.ends, i), along(c.breast, float64(i-1)/float64(c.sternal-1))}}.path())
	}
	for i := c.ribs; i >= 1; i-- {
		d := stroke{marks: c.rib(i)}.path()
		fmt.Fprintf(b, `<path class="rib" d="%s" data-rib="%d"/><path class="bone" d="%s"/>`, d, i, d)
	}
}

// at is the point of a curve that belongs to rib i, counted from 1.
func (c cage) at(curve []landmark, i int) landmark {
	return along(curve, float64(i-1)/float64(c.ribs-1))
}

// rib is the bone of rib i, counted from 1.
func (c cage) rib(i int) []landmark {
	return []landmark{c.at(c.heads, i), c.at(c.bows, i), c.at(c.ends, i)}
}

// arch is the border behind the breastbone that the cartilages of the last ribs make.
func (c cage) arch() []landmark {
	marks := []landmark{c.breast[len(c.breast)-1]}
	for i := c.sternal + 2; i <= c.ribs; i++ {
		p, q := c.at(c.ends, i), marks[0]
		back := float64(c.ribs-i) / float64(c.ribs-c.sternal) // how much of the cartilage lies below the bone
		marks = append(marks, landmark{x: p.x + (q.x-p.x)*back*.6, y: p.y + (q.y-p.y)*back*.6})
	}
	return marks
}

// along is the point at t, 0 to 1, of a smooth curve through marks at equal steps of t.
func along(marks []landmark, t float64) landmark {
	last := len(marks) - 1
	f := t * float64(last)
	i := min(int(f), last-1)
	u := f - float64(i)
	p := func(k int) landmark {
		if k < 0 { // the curve runs on beyond its ends as it came
			return landmark{x: 2*marks[0].x - marks[1].x, y: 2*marks[0].y - marks[1].y}
		}
		if k > last {
			return landmark{x: 2*marks[last].x - marks[last-1].x, y: 2*marks[last].y - marks[last-1].y}
		}
		return marks[k]
	}
	cubic := func(a, b, c, d float64) float64 { // Catmull-Rom, uniform
		return (2*b + (c-a)*u + (2*a-5*b+4*c-d)*u*u + (3*b-a-3*c+d)*u*u*u) / 2
	}
	a, b, c, d := p(i-1), p(i), p(i+1), p(i+2)
	return landmark{x: math.Round(cubic(a.x, b.x, c.x, d.x)*10) / 10, y: math.Round(cubic(a.y, b.y, c.y, d.y)*10) / 10}
}
