package server

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"dewclaw/rubric"
	"dewclaw/rubric/say"
	"dewclaw/server/face"
)

// readAtOnce is how many sentences of one act are shown at once; the others
// wait under a fold.
const readAtOnce = 2

// expert is an examination in words.
func (s *Server) expert(x *script, cat *face.Catalogue) face.Expert {
	out := face.Expert{Species: x.face.Species, Label: cat.Label, Patient: x.face, Seconds: x.entries[len(x.entries)-1].Outcome.Clock}
	t := &telling{x: x, cat: cat, w: s.scriptWords(x), units: s.school().units(), told: map[string]bool{}}
	for i := range x.scenes {
		out.Moments = append(out.Moments, t.scene(i))
	}
	return out
}

// telling puts an examination into words, scene by scene. A reason is given once.
type telling struct {
	x     *script
	cat   *face.Catalogue
	w     say.Words
	units []string
	told  map[string]bool
}

func (t *telling) scene(i int) face.ExpertScene {
	a, in := t.x.head(i), t.x.in(i)
	out := face.ExpertScene{N: i + 1, Kind: string(a.Kind), Step: a.Step, Asks: t.x.scenes[i].asks, Clock: in[len(in)-1].Outcome.Clock, Beats: []face.ExpertBeat{}}
	if step := t.cat.Step(a.Step); step != nil {
		out.Region = step.Region
		out.Stage = t.w.Stage(stageOfRegion(t.x.cat, step.Region))
	}
	out.Title = t.title(a)
	out.Why, out.Source = t.why(i)
	for _, e := range in {
		for _, sign := range e.Outcome.Signs {
			out.Signs = append(out.Signs, sentence(sign))
		}
		if e.Act.Kind == rubric.Record && len(out.Beats) > 0 {
			b := &out.Beats[len(out.Beats)-1]
			b.Charted = append(b.Charted, t.charted(e.Act)...)
			continue
		}
		out.Beats = append(out.Beats, t.beat(e))
	}
	if a.Kind == rubric.Record {
		out.Beats = []face.ExpertBeat{t.rest(in)}
	}
	return out
}

// rest is the regions of which the rest is stated as normal, one under the other in a fold.
func (t *telling) rest(in rubric.Transcript) face.ExpertBeat {
	b := face.ExpertBeat{Act: in[0].Act.N, Charted: []face.ExpertCharted{{Text: fmt.Sprintf("In %d parts of the animal: the rest is normal", len(in))}}}
	for _, e := range in {
		b.Words = append(b.Words, t.w.Region(e.Act.Region))
	}
	return b
}

func (t *telling) title(a rubric.Act) string {
	switch a.Kind {
	case rubric.Ask:
		return "Ask the owner"
	case rubric.Examine:
		return t.w.Step(a.Step)
	case rubric.Handle:
		return t.w.Handling(a.How)
	case rubric.Wait:
		return fmt.Sprintf("Wait %d s", a.Seconds)
	case rubric.Record:
		return "State what else was normal"
	}
	return "Name problems and urgency"
}

// beat is one act with what it brought.
func (t *telling) beat(e rubric.Entry) face.ExpertBeat {
	a := e.Act
	b := face.ExpertBeat{Act: a.N, Label: a.Site, Seconds: a.Seconds, Words: []string{}, Charted: []face.ExpertCharted{}}
	switch a.Kind {
	case rubric.Ask:
		b.Label = askLabel(t.cat, a.Topic)
		b.Words = append(b.Words, "“"+e.Outcome.Answer+"”")
	case rubric.Conclude:
		b.Charted = t.conclusion(a)
	}
	if a.Kind == rubric.Examine && e.Outcome.Refused {
		b.Words = append(b.Words, "The animal does not allow it.")
	} else if a.Kind == rubric.Examine {
		b.Heard, b.Seen = t.x.patient.Heard(a.Step, a.Site), t.x.patient.Seen(a.Step, a.Site)
	}
	b.Words = append(b.Words, t.sensed(e)...)
	b.Lead = min(readAtOnce, len(b.Words))
	return b
}

func askLabel(cat *face.Catalogue, topic string) string {
	if row := cat.Topic(topic); row != nil {
		return row.Ask
	}
	return topic
}

// sensed are the sentences of an act: first what differs from normal, then what
// is charted line by line, then the rest.
func (t *telling) sensed(e rubric.Entry) []string {
	percepts := slices.Clone(e.Outcome.Percepts)
	slices.SortStableFunc(percepts, func(a, b rubric.Percept) int { return cmp.Compare(t.rank(a), t.rank(b)) })
	var out []string
	for _, p := range percepts {
		if f := t.cat.Field(p.Field); f != nil && (f.Kind == "count" || f.Kind == "time") && p.Sense != senseReading {
			continue // it is counted or timed from what is heard and seen, and its words only name the step
		}
		text := sentence(p.Words)
		switch p.Sense {
		case senseReading:
			text = "It shows " + inWords(t.x.cat, p.Field, p.Words, t.units) + "."
		case senseSound:
			if text != "" {
				text = "Heard: " + text
			}
		}
		if text != "" && !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return out
}

func (t *telling) rank(p rubric.Percept) int {
	switch f := t.cat.Field(p.Field); {
	case t.off(p.Field, p.Site):
		return 0
	case f != nil && f.Each:
		return 1
	}
	return 2
}

// off reports whether a place of this patient differs from normal.
func (t *telling) off(field, site string) bool {
	found := slices.ContainsFunc(t.x.key.Findings, func(f rubric.Finding) bool {
		return f.Field == field && (f.Site == "" || f.Site == site || slices.Contains(f.Also, site))
	})
	return found || slices.ContainsFunc(t.x.report.Vitals, func(v rubric.VitalRead) bool {
		return v.Field == field && v.Interpretation != "" && v.Interpretation != "normal"
	})
}

// charted is what a record writes.
func (t *telling) charted(a rubric.Act) []face.ExpertCharted {
	line := face.Line{Place: face.Place{Field: a.Field, Site: a.Site}, Value: a.Value, Interpretation: a.Interpretation}
	text := joinSet([]string{fieldLabel(t.cat, a.Field), a.Site}, ", ") + ": " + shownValue(t.cat, line)
	if a.Over > 0 {
		text += fmt.Sprintf(", counted over %d s", a.Over)
	}
	return []face.ExpertCharted{{Text: text, Off: t.isOff(a)}}
}

// isOff reports whether what a record writes differs from normal.
func (t *telling) isOff(a rubric.Act) bool {
	if a.Interpretation == "low" || a.Interpretation == "high" {
		return true
	}
	return a.Interpretation == "" && t.off(a.Field, a.Site) && !slices.Contains(t.normal(a.Field), a.Value)
}

func (t *telling) normal(field string) []string {
	for i := range t.x.key.Fields {
		if t.x.key.Fields[i].ID == field {
			return t.x.key.Fields[i].Normal
		}
	}
	return nil
}

func (t *telling) conclusion(a rubric.Act) []face.ExpertCharted {
	out := []face.ExpertCharted{}
	for _, p := range a.Problems {
		out = append(out, face.ExpertCharted{Text: "Problem: " + t.w.Problem(p)})
	}
	if len(out) == 0 {
		out = append(out, face.ExpertCharted{Text: "No problem"})
	}
	return append(out, face.ExpertCharted{Text: "Urgency: " + a.Urgency})
}

// why is the reason for a scene, with its source.
func (t *telling) why(i int) (why, source string) {
	a := t.x.head(i)
	switch a.Kind {
	case rubric.Ask:
		return "The history tells where to look with more care, and what it would be wrong to do.", ""
	case rubric.Record:
		return "A line left blank could as well have been forgotten; so what was examined and is normal is stated.", ""
	case rubric.Conclude:
		return t.whyConclude(), ""
	}
	if signs := t.x.signsBefore(i); len(signs) > 0 && a.Kind != rubric.Examine {
		return "The animal has just shown something: " + lowerFirst(sentence(signs[0])) + " It is answered before anything else is done.", ""
	}
	if why, source := t.whyRule(i); why != "" {
		return joinSet([]string{why, t.window(a)}, " "), source
	}
	for _, reason := range []func(rubric.Act) string{t.window, t.precaution, t.caution, t.weight, t.looksFor} {
		if why := reason(a); why != "" && !t.told[why] {
			t.told[why] = true
			return why, ""
		}
	}
	return t.looksFor(a), ""
}

// few items are what a rule is about; one with more on that side is about the other.
const few = 2

// whyRule is the rule of order that a scene keeps by coming early, or late: the
// heaviest that has not been told.
func (t *telling) whyRule(i int) (why, source string) {
	it := item(t.x.head(i))
	var best *rubric.Rule
	for j := range t.x.key.Rules {
		r := &t.x.key.Rules[j]
		early := len(r.Before) <= few && slices.Contains(r.Before, it) && t.x.among(i+1, len(t.x.scenes), r.After)
		late := len(r.After) <= few && slices.Contains(r.After, it) && t.x.among(0, i, r.Before)
		if (early || late) && !t.told[r.Why] && (best == nil || r.Weight > best.Weight) {
			best = r
		}
	}
	if best == nil {
		return "", ""
	}
	t.told[best.Why] = true
	return best.Why, best.Source
}

// among reports whether one of some items is done in the scenes from up to before to.
func (x *script) among(from, to int, words []string) bool {
	for j := from; j < to; j++ {
		if x.means(words, item(x.head(j))) {
			return true
		}
	}
	return false
}

// window is how long a rate is counted.
func (t *telling) window(a rubric.Act) string {
	for i := range t.x.key.Vitals {
		if v := &t.x.key.Vitals[i]; a.Step != "" && v.Window > 0 && slices.Contains(v.Steps, a.Step) && a.Seconds >= v.Window {
			return fmt.Sprintf("Counted over %d s: every event missed in a shorter count weighs more.", a.Seconds)
		}
	}
	return ""
}

// precaution is a rule of this patient that an act keeps.
func (t *telling) precaution(a rubric.Act) string {
	for i := range t.x.key.Precautions {
		p := &t.x.key.Precautions[i]
		it := item(a)
		switch {
		case p.Kind == "last" && slices.Contains(p.Steps, it) && len(p.Among) > 2:
			return "This patient bears it worst, so it comes when the rest is done."
		case slices.Contains(p.Done, it) || p.Kind != "gentle" && slices.Contains(p.Steps, it):
			return "The rule with this patient: " + t.asked(*p) + "."
		}
	}
	return ""
}

// asked is what a precaution asks; of a long list of steps the first two.
func (t *telling) asked(p rubric.Precaution) string {
	const most = 2
	if n := len(p.Steps) - most; p.Kind == "before" && n > 1 {
		p.Steps = p.Steps[:most]
		return say.Precaution(&p, t.w) + fmt.Sprintf(" and %d more steps", n)
	}
	return say.Precaution(&p, t.w)
}

func (t *telling) caution(a rubric.Act) string {
	if step := t.cat.Step(a.Step); step != nil {
		return sentence(step.Caution)
	}
	if h := t.cat.HandlingRow(a.How); h != nil {
		return sentence(h.Caution)
	}
	return ""
}

// weight says that no examination of this kind goes without a step.
func (t *telling) weight(a rubric.Act) string {
	const essential = 3
	for i := range t.x.key.Steps {
		if s := &t.x.key.Steps[i]; a.Step != "" && s.ID == a.Step && s.Required && s.Weight >= essential {
			return "Essential: no examination of this kind goes without “" + lowerFirst(t.w.Step(a.Step)) + "”."
		}
	}
	return ""
}

// looksFor names what a step lets one sense.
func (t *telling) looksFor(a rubric.Act) string {
	var names []string
	for i := range t.x.key.Steps {
		if s := &t.x.key.Steps[i]; a.Step != "" && s.ID == a.Step {
			for _, f := range s.Reveals {
				names = append(names, lowerFirst(t.w.Field(f)))
			}
		}
	}
	const most = 4
	comma := ", "
	if slices.ContainsFunc(names, func(name string) bool { return strings.Contains(name, ",") }) {
		comma = "; "
	}
	switch n := len(names); {
	case n == 0:
		return "It costs little and keeps the animal calm."
	case n > most:
		return fmt.Sprintf("It tells of %s and %d more.", strings.Join(names[:most-1], comma), n-most+1)
	case n == 1:
		return "It tells of " + names[0] + "."
	default:
		return "It tells of " + strings.Join(names[:n-1], comma) + " and " + names[n-1] + "."
	}
}

// whyConclude says which signs point to the first problem.
func (t *telling) whyConclude() string {
	all := t.x.key.Expected.Problems
	if len(all) == 0 {
		return "Nothing that was found points to a problem, and saying so after a whole examination is worth as much as a finding."
	}
	var signs []string
	for _, at := range all[0].Signs {
		sign := lowerFirst(t.w.Field(at.Field))
		if at.Site != "" {
			sign += " (" + at.Site + ")"
		}
		signs = append(signs, sign)
	}
	return "What points to " + lowerFirst(t.w.Problem(all[0].ID)) + ": " + strings.Join(signs, ", ") + "."
}

// lowerFirst puts a label into the middle of a sentence; one that begins with an
// abbreviation stays.
func lowerFirst(text string) string {
	r := []rune(text)
	if len(r) > 1 && unicode.IsUpper(r[1]) {
		return text
	}
	return strings.ToLower(string(r[:min(1, len(r))])) + string(r[min(1, len(r)):])
}
