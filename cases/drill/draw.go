package drill

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// ErrKind is wrapped where there is no such drill, or none for the species.
var ErrKind = errors.New("drill: there is no such drill")

// pairMark stands between the values of A and B.
const pairMark = "|"

// noneID is the answer that it is nowhere.
const noneID = "none"

func orNone(site string) string {
	if site == "" {
		return noneID
	}
	return site
}

// Draw draws the n-th item of a drill, n from 1. Before holds Item.Past of those
// asked so far, the last one last: the next has neither the answer nor the
// patient of the last, and asks what was asked least. The same arguments give
// the same item. A species or kind that is not there is an ErrKind.
func Draw(l *cases.Library, kind, species string, n int, before []string, seed cases.Seed) (Item, error) {
	k, ok := KindOf(kind)
	if !ok || len(shipped.Patients[species]) == 0 || l == nil || len(k.of(l.Catalogue(species))) == 0 {
		return Item{}, fmt.Errorf("%w: %q for %q", ErrKind, clip40(kind), clip40(species))
	}
	d := drawing{dice: dice{seed, n}, cat: l.Catalogue(species), past: pasts(before)}
	d.ask = d.nextAsk(k.of(d.cat))
	d.r = record{Version: 1, Kind: k.ID, Ask: d.ask.ID, Species: species, Seed: cases.EncodeSeed(d.seed("item"))}
	d.animal()
	forms[d.ask.Form].draw(&d)
	d.with()
	return build(l, k, d.ask, d.r)
}

// past is an item that was asked.
type past struct{ ask, truth, name, animal string }

// pasts reads what Item.Past wrote; what is nothing of the kind counts for nothing.
func pasts(before []string) []past {
	var out []past
	for _, s := range before {
		if f := strings.Split(s, "/"); len(f) == 4 {
			out = append(out, past{f[0], f[1], f[2], f[3]})
		}
	}
	return out
}

// drawing is an item on its way.
type drawing struct {
	dice
	cat  *cases.Catalogue
	past []past
	ask  *ask
	r    record
}

// last is the item before this one.
func (d *drawing) last() past {
	if len(d.past) == 0 {
		return past{}
	}
	return d.past[len(d.past)-1]
}

// nextAsk is one of the questions asked least so far, and not the last one again
// where there is another.
func (d *drawing) nextAsk(asks []*ask) *ask {
	asked := func(a *ask) int {
		n := 0
		for _, p := range d.past {
			if p.ask == a.ID {
				n++
			}
		}
		return n
	}
	if len(asks) > 1 {
		asks = slices.DeleteFunc(asks, func(a *ask) bool { return a.ID == d.last().ask })
	}
	least := asked(slices.MinFunc(asks, func(x, y *ask) int { return asked(x) - asked(y) }))
	return pick(d.dice, "ask", slices.DeleteFunc(asks, func(a *ask) bool { return asked(a) > least }))
}

// animal draws who it is: another than the one before.
func (d *drawing) animal() {
	names := slices.DeleteFunc(slices.Clone(shipped.Names), func(s string) bool { return s == d.last().name })
	d.r.Name = pick(d.dice, "name", names)
	animals := slices.DeleteFunc(slices.Clone(shipped.Patients[d.r.Species]), func(a animal) bool { return a.kind() == d.last().animal })
	d.r.Animal = pick(d.dice, "animal", animals)
}

// other draws one of the values that is not the last answer.
func (d *drawing) other(values []string) string {
	return pick(d.dice, "value", slices.DeleteFunc(slices.Clone(values), func(v string) bool { return v == d.last().truth }))
}

// sites are those at which the question may be asked.
func (d *drawing) sites() []string {
	all := d.ask.Sites
	if len(all) == 0 {
		all = d.cat.Step(d.ask.Step).Sites
	}
	if len(all) == 0 {
		return []string{""}
	}
	if d.ask.Side {
		side := pick(d.dice, "side", []string{"left ", "right "})
		all = slices.DeleteFunc(slices.Clone(all), func(s string) bool { return !strings.HasPrefix(s, side) })
	}
	return all
}

// found says whether there is something: of a question of place, somewhere; else
// that a value is not the field's normal.
func (d *drawing) found() bool {
	if d.ask.Form == "place" {
		return d.r.Site != ""
	}
	f := d.cat.Field(d.ask.Field)
	return f.Chosen() && f.Abnormal(d.r.Values[0])
}

// with draws what else is there.
func (d *drawing) with() {
	for i, w := range d.ask.With {
		f := d.cat.Field(w.Field)
		if f == nil || w.If == "there" && !d.found() || w.If == "sound" && d.found() {
			continue
		}
		of := slices.DeleteFunc(slices.Clone(w.Of), func(v string) bool { return f.Choice(v) == nil })
		if len(of) == 0 {
			continue
		}
		site := ""
		if w.At == "here" && f.PerSite {
			site = d.r.Sites[0]
		}
		d.r.With = append(d.r.With, placed{w.Field, site, pick(d.dice, fmt.Sprint("with ", i), of)})
	}
}

// number draws from a span, away from the last answer: so far, or a tenth of it.
func (d *drawing) number(spread string, apart rubric.Milli) string {
	low, high, err := span(spread)
	if err != nil {
		return ""
	}
	grain := rubric.Milli(1000)
	if d.cat.Field(d.ask.Field).Kind != "count" {
		grain = 100
	}
	was, err := rubric.ParseMilli(d.last().truth)
	for i := range 100 {
		m := d.between(fmt.Sprint("number ", i), low, high, grain)
		if err != nil || max(m-was, was-m) > max(apart, was/10) {
			return m.String()
		}
	}
	return low.String()
}

// span reads "54..186" or "5".
func span(s string) (low, high rubric.Milli, err error) {
	from, to, ranged := strings.Cut(s, "..")
	if low, err = rubric.ParseMilli(from); err != nil || !ranged {
		return low, low, err
	}
	high, err = rubric.ParseMilli(to)
	return low, high, err
}
