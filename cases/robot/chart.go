package robot

import (
	"bytes"
	"image"
	"image/draw"
	"image/gif"
	"slices"
	"strconv"
	"sync"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// chart writes down what an examination let the student sense. What is normal
// and need not be described line by line is left to the sweep at the end.
func (v *player) chart(e rubric.Entry) {
	for _, pc := range e.Outcome.Percepts {
		f := v.field(pc.Field)
		if f == nil {
			continue
		}
		v.regions[f.Region] = true
		value, over := v.read(e, pc, f)
		value = v.distort(f, value)
		at := rubric.Place{Field: pc.Field, Site: pc.Site}
		had, ok := v.charted[at]
		if value == "" || ok && (had == value || over > 0 || stays(f, e, had, value)) {
			continue
		}
		v.charted[at] = value
		if !v.line(f, at, value) {
			continue
		}
		v.do(rubric.Act{
			Kind: rubric.Record, Field: at.Field, Site: at.Site, Value: value, Over: over,
			Interpretation: v.interpret(f, value),
		})
	}
}

// stays says of a field that is charted once and met at several sites that what
// was found at one of them is not taken back where it is not heard.
func stays(f *rubric.Field, e rubric.Entry, had, value string) bool {
	return !f.PerSite && e.Act.Site != "" && slices.Contains(f.Normal, value) && !slices.Contains(f.Normal, had)
}

// line says whether a value gets a line of its own.
func (v *player) line(f *rubric.Field, at rubric.Place, value string) bool {
	if f.Each || f.Vital != "" || len(f.Of) == 0 || !slices.Contains(f.Normal, value) {
		return true
	}
	return slices.ContainsFunc(v.k.Negatives, func(n rubric.Place) bool {
		return n.Field == at.Field && (n.Site == "" || n.Site == at.Site)
	})
}

// read turns what was sensed into a value of the sheet.
func (v *player) read(e rubric.Entry, pc rubric.Percept, f *rubric.Field) (value string, over int) {
	switch pc.Sense {
	case "reading":
		return firstWord(pc.Words), 0
	case "rising":
		return "", 0 // the instrument has not settled
	}
	switch f.Kind {
	case "count":
		return v.count(e, f)
	case "time":
		return v.timed(e), 0
	default:
		return v.recognise(pc), 0
	}
}

// count counts whole events over the seconds of the contact.
func (v *player) count(e rubric.Entry, f *rubric.Field) (string, int) {
	over := min(max(e.Act.Seconds, 1), 60)
	if _, had := v.charted[rubric.Place{Field: f.ID}]; had {
		return "", 0
	}
	n, err := v.p.Count(e, f.ID, v.c.Uint64(), over)
	if err != nil {
		return "", 0
	}
	if v.c.one(v.s.miscount) {
		n = max(0, n+1-2*v.c.below(2))
	}
	return strconv.Itoa((n*60 + over/2) / over), over
}

// timed watches a gum: how many tenths of a second from letting go until the
// middle has the colour of the rim.
func (v *player) timed(e rubric.Entry) string {
	clip, err := v.p.Picture(e, 0)
	if err != nil {
		return ""
	}
	if had, ok := watched.Load(string(clip.Bytes)); ok {
		return had.(string)
	}
	seen := watch(clip.Bytes)
	watched.Store(string(clip.Bytes), seen)
	return seen
}

// watched remembers what was seen in a clip: refills come in tenths of a
// second, so that many patients show the very same one.
var watched sync.Map

// watch lays frame upon frame, as a page does, until the print of the finger
// has the colour that the gum has thirty pixels below it.
func watch(clip []byte) string {
	pic, err := gif.DecodeAll(bytes.NewReader(clip))
	if err != nil || len(pic.Image) == 0 {
		return ""
	}
	w, h := pic.Config.Width, pic.Config.Height
	seen := image.NewRGBA(image.Rect(0, 0, w, h))
	release := 0
	for i, frame := range pic.Image {
		draw.Draw(seen, frame.Rect, frame, frame.Rect.Min, draw.Over)
		if release == 0 && i > 0 && frame.Rect.Dx()*frame.Rect.Dy() > 1 {
			release = i // the first change: the finger is gone
		}
		if release > 0 && seen.RGBAAt(w/2, h/2) == seen.RGBAAt(w/2, h/2+30) {
			return (rubric.Milli(i-release) * rubric.Milli(pic.Delay[i]) * 10).String()
		}
	}
	return ""
}

// recognise finds the choice whose cue was sensed.
func (v *player) recognise(pc rubric.Percept) string {
	f := v.p.Catalogue().Field(pc.Field)
	for i := range f.Of {
		c := &f.Of[i]
		if !slices.Contains(c.Cue, pc.Words) {
			continue
		}
		if c.UpTo != "" {
			return c.UpTo
		}
		return c.ID
	}
	if f.Choice(pc.Words) != nil {
		return pc.Words
	}
	return ""
}

// distort is what becomes of a value on its way to the sheet.
func (v *player) distort(f *rubric.Field, value string) string {
	if value == "" {
		return ""
	}
	switch v.s.chart {
	case allNormal:
		return v.normal(f, value)
	case guessing:
		return v.guess(f, value)
	}
	if !v.c.one(v.s.misread) {
		return value
	}
	return v.normal(f, value)
}

// normal is a normal value of a field; a number without a range stays.
func (v *player) normal(f *rubric.Field, value string) string {
	if len(f.Normal) > 0 {
		return f.Normal[0]
	}
	if vt := v.vital(f.ID); vt != nil && vt.HasRange {
		return middle(vt).String()
	}
	if f.Ranged {
		return f.NormalLow.String()
	}
	return value
}

// middle is the middle of a reference range, whole where the vital is a count.
func middle(vt *rubric.Vital) rubric.Milli {
	m := (vt.Low + vt.High) / 2
	if vt.Window > 0 || vt.Name == "body_condition" {
		return m / 1000 * 1000
	}
	return m / 100 * 100
}

func (v *player) guess(f *rubric.Field, value string) string {
	if len(f.Of) > 0 {
		return f.Of[v.c.below(len(f.Of))]
	}
	if vt := v.vital(f.ID); vt != nil && vt.HasRange && vt.High > 0 {
		return (rubric.Milli(v.c.below(int(2*vt.High/1000)+1)) * 1000).String()
	}
	return value
}

// interpret reads a vital against its range.
func (v *player) interpret(f *rubric.Field, value string) string {
	vt := v.vital(f.ID)
	m, err := rubric.ParseMilli(value)
	if vt == nil || !vt.HasRange || err != nil {
		return ""
	}
	return reading(vt, m)
}

func reading(vt *rubric.Vital, m rubric.Milli) string {
	switch {
	case m < vt.Low:
		return "low"
	case m > vt.High:
		return "high"
	default:
		return "normal"
	}
}

// everyPlace lists every place of the sheet.
func everyPlace(k *rubric.Key) []rubric.Place {
	var out []rubric.Place
	for i := range k.Fields {
		f := &k.Fields[i]
		if !f.PerSite || len(f.Sites) == 0 {
			out = append(out, rubric.Place{Field: f.ID})
		}
		if f.PerSite {
			for _, s := range f.Sites {
				out = append(out, rubric.Place{Field: f.ID, Site: s})
			}
		}
	}
	return out
}

// untouched charts every place without examining any, and concludes routine.
func untouched(p *cases.Patient, k rubric.Key, value func(v *player, f *rubric.Field) string) []rubric.Act {
	v := &player{p: p, k: &k, s: &style{}, c: newChance(1), charted: map[rubric.Place]string{}}
	for _, at := range everyPlace(&k) {
		f := v.field(at.Field)
		if x := value(v, f); x != "" {
			over := 0
			if f.Kind == "count" {
				over = 60
			}
			v.do(rubric.Act{Kind: rubric.Record, Field: at.Field, Site: at.Site, Value: x, Over: over, Interpretation: v.interpret(f, x)})
		}
	}
	v.do(rubric.Act{Kind: rubric.Conclude, Urgency: "routine"})
	return v.acts
}

// Empty does nothing at all.
func Empty(*cases.Patient, rubric.Key) []rubric.Act { return nil }

// AllNormal touches nothing and charts every line as normal.
func AllNormal(p *cases.Patient, k rubric.Key) []rubric.Act {
	return untouched(p, k, func(v *player, f *rubric.Field) string { return v.normal(f, "") })
}

// AllAbnormal touches nothing and charts every line as abnormal.
func AllAbnormal(p *cases.Patient, k rubric.Key) []rubric.Act {
	return untouched(p, k, func(v *player, f *rubric.Field) string {
		for i := len(f.Of) - 1; i >= 0; i-- {
			if !slices.Contains(f.Normal, f.Of[i]) && !slices.Contains(f.Variants, f.Of[i]) {
				return f.Of[i]
			}
		}
		if vt := v.vital(f.ID); vt != nil && vt.HasRange {
			return (2*vt.GreyHigh/1000*1000 + 1000).String()
		}
		return ""
	})
}

// Invented touches nothing and makes up vital signs in the middle of their ranges.
func Invented(p *cases.Patient, k rubric.Key) []rubric.Act {
	return untouched(p, k, func(v *player, f *rubric.Field) string {
		if vt := v.vital(f.ID); vt != nil && vt.HasRange {
			return middle(vt).String()
		}
		return ""
	})
}
