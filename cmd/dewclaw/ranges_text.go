package main

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"dewclaw/rubric/normal"
)

// lineWidth is where the lines of sources are broken.
const lineWidth = 110

// write prints the sheet for a reader: a table of the ranges, their sources, a
// table of the published figures.
func (s rangeSheet) write(out io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", s.heading())
	s.writeRanges(&b)
	s.writePublished(&b)
	b.WriteString(wrapped("", s.Caution))
	for line := range strings.Lines(b.String()) { // a table pads its last column too
		if _, err := io.WriteString(out, strings.TrimRight(line, " \n")+"\n"); err != nil {
			return err
		}
	}
	return nil
}

func (s rangeSheet) heading() string {
	return titled(s.Species) + ", " + cmp.Or(s.age, "all ages") + ", " + cmp.Or(weighed(s.weight), "all weights")
}

// weighed puts the unit to a weight that was given without one.
func weighed(text string) string {
	if text != "" && strings.Trim(text, "0123456789.,") == "" {
		return text + " kg"
	}
	return text
}

func (s rangeSheet) writeRanges(b *strings.Builder) {
	if len(s.Ranges) == 0 {
		fmt.Fprintf(b, "No range grades this animal: a reading of it is not called low, normal or high.\n\n")
		return
	}
	fmt.Fprintf(b, "Ranges that grade (inside normal only normal is right; in the grey zone either call is)\n")
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  \tvital\tnormal\tgrey zone\tunit\tanimal\trow")
	for i, r := range s.Ranges {
		fmt.Fprintf(w, "  %d\t%s\t%s\t%s\t%s\t%s\t%s\n", i+1, normal.Label(r.Vital), r.normal, r.greyText(), normal.UnitText(r.Unit), withReach(r.Animal, r.Reach), r.ID)
	}
	_ = w.Flush() // a builder takes all
	fmt.Fprintln(b)
	for i, r := range s.Ranges {
		b.WriteString(wrapped(fmt.Sprintf("  %-4d", i+1), r.about()))
	}
	fmt.Fprintln(b)
}

// about says where a row comes from.
func (r rangeRow) about() string {
	text := "Source: " + r.Source + ". Confidence: " + r.Confidence + "."
	if r.fahrenheit != "" {
		text = "In °F " + r.fahrenheit + ". " + text
	}
	if r.Own {
		text = "The school's own. " + text
	}
	return text
}

func (r rangeRow) greyText() string {
	if r.grey == r.normal {
		return "none"
	}
	return r.grey
}

func (s rangeSheet) writePublished(b *strings.Builder) {
	if len(s.Published) == 0 {
		fmt.Fprintf(b, "No published figure stands behind this animal.\n\n")
		return
	}
	fmt.Fprintf(b, "Published figures (read: in the source; relay: on a page that quotes it; memory: not looked up)\n")
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  vital\tfigure\tunit\tof\tconfidence\tsource")
	keys := sourceKeys{}
	for _, p := range s.Published {
		key := keys.of(p)
		for i, part := range strings.Split(strings.TrimSuffix(wrapAt(p.text, 48), "\n"), "\n") {
			if i > 0 {
				fmt.Fprintf(w, "  \t%s\t\t\t\t\n", part)
				continue
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\t%s\n", normal.Label(p.Vital), part, normal.UnitText(p.Unit), p.Animal, p.Confidence, key)
		}
	}
	_ = w.Flush()
	fmt.Fprintln(b)
	for _, k := range keys.order {
		b.WriteString(wrapped(fmt.Sprintf("  %-9s ", k.key), k.source))
	}
	fmt.Fprintln(b)
}

// sourceKeys are the sources in the order in which they are met. One from
// memory has no key of its own and is numbered M1, M2, ...
type sourceKeys struct {
	order  []struct{ key, source string }
	memory int
}

func (s *sourceKeys) of(p figureLine) string {
	for _, k := range s.order {
		if k.source == p.Source && (p.Key == "" || p.Key == k.key) {
			return k.key
		}
	}
	key := p.Key
	if key == "" {
		s.memory++
		key = fmt.Sprintf("M%d", s.memory)
	}
	s.order = append(s.order, struct{ key, source string }{key, p.Source})
	return key
}

func withReach(animal, reach string) string {
	if reach == "" {
		return animal
	}
	return animal + " (" + reach + ")"
}

// wrapped breaks a text into lines; all but the first are indented as far as
// the prefix of the first.
func wrapped(prefix, text string) string {
	lines := strings.Split(strings.TrimSuffix(wrapAt(text, lineWidth-len(prefix)), "\n"), "\n")
	return prefix + strings.Join(lines, "\n"+strings.Repeat(" ", len(prefix))) + "\n"
}

// wrapAt breaks a text at spaces into lines of at most so many characters.
func wrapAt(text string, width int) string {
	var b strings.Builder
	used := 0
	for _, word := range strings.Fields(text) {
		n := len([]rune(word))
		switch {
		case used == 0:
		case used+1+n > width:
			b.WriteByte('\n')
			used = 0
		default:
			b.WriteByte(' ')
			used++
		}
		b.WriteString(word)
		used += n
	}
	b.WriteByte('\n')
	return b.String()
}
