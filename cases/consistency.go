package cases

import (
	"fmt"
	"slices"
	"strings"
)

// Link is a row of the table of signs that must agree within one patient.
// Wherever all signs of When may be met together, one of Then must be met, and
// none of Never may be. A link with Apart holds instead that the grades of
// When's field differ by no more than that between neighbouring sites.
type Link struct {
	ID    string
	When  []Sign
	Then  []Sign
	Never []Sign
	Apart int

	Say    string // what to change, for whoever wrote the case
	Why    string
	Source string // who and where; or: common practice, no source
}

// Sign is a field with what it is. A species whose catalogue has not the field,
// or a patient in whom nothing shows it, has not the sign.
type Sign struct {
	Field string   // a field's id; *.x: every field that ends so; stage:x: every field of that stretch of the route
	At    string   // only at sites that have this word in their name
	Is    []string // one of these choices; low, normal or high for what is measured; or: abnormal
	Not   []string // none of these
	Aside bool     // on the side of When's first sign, where both have sides
}

// noSource says of a row that no publication stands behind it.
const noSource = "common practice, no source"

// Links returns the table of signs that must agree.
func Links() []Link { return slices.Clone(links) }

// Words says in one sentence what must agree.
func (l Link) Words() string {
	if l.Apart > 0 {
		return fmt.Sprintf("%s at neighbouring sites: at most %d grades apart.", l.When[0].Field, l.Apart)
	}
	text := "Where " + wordsOfSigns(l.When, " and ") + ": "
	if len(l.Then) > 0 {
		text += wordsOfSigns(l.Then, ", or ")
	}
	if len(l.Never) > 0 {
		text += "never " + wordsOfSigns(l.Never, ", nor ")
	}
	return text + "."
}

func wordsOfSigns(signs []Sign, and string) string {
	var out []string
	for _, s := range signs {
		out = append(out, s.words())
	}
	return strings.Join(out, and)
}

func (s Sign) words() string {
	name := s.Field
	if stage, ok := strings.CutPrefix(name, stagePattern); ok {
		name = "something of the " + stage
	} else if end, ok := strings.CutPrefix(name, "*"); ok {
		name = "any " + strings.TrimPrefix(end, ".")
	}
	if s.At != "" {
		name += " (" + s.At + ")"
	}
	text := name + " is " + strings.Join(s.Is, " or ")
	if len(s.Not) > 0 {
		text = name + " is not " + strings.Join(s.Not, " or ")
	}
	if s.Aside {
		text += " on that side"
	}
	return text
}

// stagePattern begins a sign that stands for all fields of a stage.
const stagePattern = "stage:"

// world is what may be true of a patient: of a case, all that a seed may draw;
// of a patient drawn, one value a place.
type world interface {
	// may lists the values that a place may have: ids of choices, and low,
	// normal or high of what is measured. Empty: nothing is known of it.
	may(f *Field, site string) []string
	// shows says whether a step that exists for the patient shows the place.
	shows(f *Field, site string) bool
}

// The readings of what is measured.
const (
	readLow    = "low"
	readNormal = "normal"
	readHigh   = "high"
)

// spot is a field at a site with the values that it may have there.
type spot struct {
	field  *Field
	site   string
	values []string
}

func (s spot) name() string { return placeName(s.field.ID, s.site) }

// placeName writes a place as a case file does.
func placeName(field, site string) string {
	if site == "" {
		return field
	}
	return field + "@" + site
}

// spots lists where a sign can be met in a world.
func (s Sign) spots(c *Catalogue, w world) []spot {
	var out []spot
	for i := range c.Fields {
		f := &c.Fields[i]
		if !s.names(c, f) {
			continue
		}
		for _, site := range sitesOf(f) {
			if s.At != "" && !slices.Contains(strings.Fields(site), s.At) || !w.shows(f, site) {
				continue
			}
			if values := w.may(f, site); len(values) > 0 {
				out = append(out, spot{f, site, values})
			}
		}
	}
	return out
}

// names says whether the sign's field is this one.
func (s Sign) names(c *Catalogue, f *Field) bool {
	if stage, ok := strings.CutPrefix(s.Field, stagePattern); ok {
		r := c.Region(f.Region)
		return r != nil && r.Stage == stage
	}
	if end, ok := strings.CutPrefix(s.Field, "*"); ok {
		return strings.HasSuffix(f.ID, end)
	}
	return f.ID == s.Field
}

// met says whether a value is what the sign says.
func (s Sign) met(f *Field, value string) bool {
	if len(s.Not) > 0 {
		return !slices.Contains(s.Not, value)
	}
	if slices.Contains(s.Is, "abnormal") {
		if f.Chosen() {
			return f.Abnormal(value)
		}
		return value != readNormal
	}
	return slices.Contains(s.Is, value)
}

// possibly says whether the sign may be met at a spot.
func (s Sign) possibly(at spot) bool {
	return slices.ContainsFunc(at.values, func(v string) bool { return s.met(at.field, v) })
}

// certainly says whether the sign is met at a spot whatever is drawn.
func (s Sign) certainly(at spot) bool {
	return !slices.ContainsFunc(at.values, func(v string) bool { return !s.met(at.field, v) })
}

// beside says whether a spot lies where the sign is looked for from another.
func (s Sign) beside(from, to spot) bool {
	a, b := sideOf(from.site), sideOf(to.site)
	return !s.Aside || a == "" || b == "" || a == b
}

// sideOf is left or right where a site's name has it.
func sideOf(site string) string {
	for _, w := range strings.Fields(site) {
		if w == "left" || w == "right" {
			return w
		}
	}
	return ""
}

// breach is a link that does not hold: where, and what stands against it.
type breach struct {
	link *Link
	at   spot
	also string // the other place, where there is one to name
}

// breaches lists where the table does not hold in a world.
func (c *Catalogue) breaches(w world) []breach {
	var out []breach
	for i := range links {
		l := &links[i]
		if l.Apart > 0 {
			out = append(out, l.apart(c, w)...)
			continue
		}
		for _, at := range l.When[0].spots(c, w) {
			if l.When[0].possibly(at) && l.goesOn(c, w, at) {
				out = append(out, l.against(c, w, at)...)
			}
		}
	}
	return out
}

// goesOn says whether the other signs of When may be met too.
func (l *Link) goesOn(c *Catalogue, w world, at spot) bool {
	for _, s := range l.When[1:] {
		if !slices.ContainsFunc(s.spots(c, w), func(x spot) bool { return s.beside(at, x) && s.possibly(x) }) {
			return false
		}
	}
	return true
}

// against is what breaks the link at a spot.
func (l *Link) against(c *Catalogue, w world, at spot) []breach {
	known, kept := false, false
	for _, s := range l.Then {
		for _, x := range s.spots(c, w) {
			if s.beside(at, x) {
				known, kept = true, kept || s.certainly(x)
			}
		}
	}
	if known && !kept {
		return []breach{{link: l, at: at}}
	}
	for _, s := range l.Never {
		for _, x := range s.spots(c, w) {
			if s.beside(at, x) && s.possibly(x) {
				return []breach{{link: l, at: at, also: x.name() + " " + strings.Join(x.values, " or ")}}
			}
		}
	}
	return nil
}

// apart is where grades at neighbouring sites differ too much.
func (l *Link) apart(c *Catalogue, w world) []breach {
	var out []breach
	all := l.When[0].spots(c, w)
	for _, at := range all {
		for _, x := range all {
			if neighbours(at.site, x.site) && at.field.highest(at.values)-x.field.lowest(x.values) > l.Apart {
				out = append(out, breach{link: l, at: at, also: x.name() + " " + strings.Join(x.values, " or ")})
			}
		}
	}
	return out
}

// neighbours are the sites of one side, and the same place on both.
func neighbours(a, b string) bool {
	if a == b {
		return false
	}
	rest := func(s string) string { return strings.TrimSpace(strings.Replace(s, sideOf(s), "", 1)) }
	return sideOf(a) == sideOf(b) || rest(a) == rest(b)
}

func (f *Field) highest(values []string) int {
	n := -1
	for _, v := range values {
		n = max(n, f.rank(v))
	}
	return n
}

func (f *Field) lowest(values []string) int {
	n := len(f.Of)
	for _, v := range values {
		n = min(n, f.rank(v))
	}
	return n
}

// found says what stands where.
func (b breach) found() string {
	text := b.at.name() + " is " + strings.Join(b.at.values, " or ")
	if b.also != "" {
		text += " beside " + b.also
	}
	return text
}

// String says what does not agree, what would be right, and by which link.
func (b breach) String() string {
	return fmt.Sprintf("%s: %s (rule %s)", b.found(), b.link.Say, b.link.ID)
}
