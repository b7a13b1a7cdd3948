package server

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/say"
	"dewclaw/server/face"
)

// Verdicts on a guess at what comes next.
const (
	guessSame    = "same"    // the expert does it too
	guessFits    = "fits"    // another order that the rules allow as well
	guessDone    = "done"    // it was done before
	guessClashes = "clashes" // something has to come first, or it has no place here
)

// guessed is what became of a guess, with why where it clashes.
type guessed struct {
	verdict string
	why     func(say.Words) string
}

func just(text string) func(say.Words) string { return func(say.Words) string { return text } }

// item is the word of the rules for an act: a step, handle:how, ask, wait or conclude.
func item(a rubric.Act) string {
	switch a.Kind {
	case rubric.Examine:
		return a.Step
	case rubric.Handle:
		return "handle:" + a.How
	}
	return string(a.Kind)
}

// guess judges what somebody would do in place of the expert's scene i, an item.
// Both are played and marked: an order that loses nothing is as good.
func (x *script) guess(i int, it string) guessed {
	key := fmt.Sprint(i, " ", it)
	x.mu.Lock()
	defer x.mu.Unlock()
	if g, ok := x.guesses[key]; ok {
		return g
	}
	g := x.judge(i, it)
	x.guesses[key] = g
	return g
}

func (x *script) judge(i int, it string) guessed {
	step := x.cat.Step(it)
	switch {
	case it == item(x.head(i)):
		return guessed{guessSame, nil}
	case once(it) && x.doneBefore(i, it):
		return guessed{guessDone, nil}
	case step != nil && !x.patient.Applies(it):
		return guessed{guessClashes, just("This patient’s sex or age rules it out.")}
	case it == string(rubric.Conclude):
		return guessed{guessClashes, just("Whoever concludes before the examination is through concludes from half of it.")}
	}
	for _, acts := range x.instead(i, it) {
		if x.asGood(acts) {
			return guessed{guessFits, nil}
		}
	}
	return guessed{guessClashes, x.clash(i, it)}
}

// once says of an item whether to do it a second time brings nothing more: a pause
// or a calm word does.
func once(it string) bool { return it != string(rubric.Wait) && it != "handle:reassure" }

func (x *script) doneBefore(i int, it string) bool {
	return slices.ContainsFunc(x.scenes[:i], func(s scene) bool { return item(x.entries[s.from].Act) == it })
}

// instead are the examinations with an item brought forward to scene i: by itself,
// and with all of its part of the animal; and each of them with the part that the
// expert goes to here put off to the end. What the expert never does is put in.
func (x *script) instead(i int, it string) [][]rubric.Act {
	var one []int
	for j := i; j < len(x.scenes) && len(one) == 0; j++ {
		if item(x.head(j)) == it {
			one = []int{j}
		}
	}
	if len(one) == 0 {
		return [][]rubric.Act{slices.Concat(x.acts(0, i), x.acting(it), x.acts(i, len(x.scenes)))}
	}
	out := [][]rubric.Act{x.ordered(i, one, nil)}
	here := x.part(i, item(x.head(i)))
	part := append(slices.Clone(one), slices.DeleteFunc(x.part(i, it), func(j int) bool { return j == one[0] })...)
	if len(part) > 1 {
		out = append(out, x.ordered(i, part, nil))
	}
	if len(here) > 0 && !slices.Contains(here, one[0]) {
		out = append(out, x.ordered(i, one, here), x.ordered(i, part, here))
	}
	return out
}

// part are the scenes from i on in the part of the animal to which a step belongs.
func (x *script) part(i int, step string) []int {
	stage := stageOfStep(x.cat, step)
	var out []int
	for j := i; j < len(x.scenes) && stage != ""; j++ {
		if stageOfStep(x.cat, x.head(j).Step) == stage {
			out = append(out, j)
		}
	}
	return out
}

// acts are those of the scenes from up to before to.
func (x *script) acts(from, to int) []rubric.Act {
	var out []rubric.Act
	for j := from; j < to; j++ {
		for _, e := range x.in(j) {
			a := e.Act
			a.N = 0 // they are numbered anew as they are played
			out = append(out, a)
		}
	}
	return out
}

// ordered are all acts with some scenes brought forward to scene i, and others put
// off until the animal is examined.
func (x *script) ordered(i int, forward, off []int) []rubric.Act {
	out := x.acts(0, i)
	add := func(scenes []int) {
		for _, j := range scenes {
			out = append(out, x.acts(j, j+1)...)
		}
	}
	add(forward)
	end := i
	for end < len(x.scenes) && x.head(end).Kind != rubric.Record && x.head(end).Kind != rubric.Conclude {
		if !slices.Contains(forward, end) && !slices.Contains(off, end) {
			add([]int{end})
		}
		end++
	}
	add(off)
	return append(out, x.acts(end, len(x.scenes))...)
}

// acting are the acts of an item that the expert never does.
func (x *script) acting(it string) []rubric.Act {
	if how, ok := strings.CutPrefix(it, "handle:"); ok {
		return []rubric.Act{{Kind: rubric.Handle, How: how}}
	}
	step := x.cat.Step(it)
	if step == nil {
		return []rubric.Act{{Kind: rubric.Wait, Seconds: 60}}
	}
	sites := step.Sites
	if len(sites) == 0 {
		sites = []string{""}
	}
	var out []rubric.Act
	for _, site := range sites {
		a := rubric.Act{Kind: rubric.Examine, Step: it, Site: site, Seconds: max(step.Least, step.Takes, 1)}
		if step.Touch {
			a.Manner = "gentle"
		}
		out = append(out, a)
	}
	return out
}

// asGood reports whether an examination loses nothing in order and handling, and
// nothing of it had to be forgiven for coming late.
func (x *script) asGood(acts []rubric.Act) bool {
	t, err := x.patient.Play(acts)
	if err != nil {
		return false
	}
	late := func(l rubric.Line) bool { return l.Code == "late.forgiven" }
	for i, d := range rubric.Grade(x.scheme, x.key, t).Domains {
		if slices.ContainsFunc(d.Lines, late) {
			return false
		}
		if (d.ID == rubric.DomainOrder || d.ID == rubric.DomainHandling) && d.Points < x.report.Domains[i].Points {
			return false
		}
	}
	return true
}

// clash says why an item does not belong before scene i: a rule of order, a
// precaution of this patient, or the ways over the animal.
func (x *script) clash(i int, it string) func(say.Words) string {
	var best *rubric.Rule
	for j := range x.key.Rules {
		r := &x.key.Rules[j]
		if r.Tag != "habit" && x.means(r.After, it) && x.pending(i, it, r.Before) != "" && (best == nil || r.Weight > best.Weight) {
			best = r
		}
	}
	if best != nil {
		first := x.pending(i, it, best.Before)
		return func(w say.Words) string { return "First comes " + itemLabel(w, first) + ". " + best.Why }
	}
	for j := range x.key.Precautions {
		p := &x.key.Precautions[j]
		if x.means(p.Steps, it) && (x.pending(i, it, p.Done) != "" || x.pending(i, it, p.Among) != "") {
			return func(w say.Words) string { return "The rule with this patient: " + say.Precaution(p, w) + "." }
		}
	}
	if x.cat.Step(it) == nil {
		return just("It brings nothing here that the animal needs now.")
	}
	return just("No accepted way over the animal has it here: one part is finished before the next.")
}

// means reports whether words of a rule mean an item.
func (x *script) means(words []string, it string) bool {
	step := x.cat.Step(it)
	return slices.ContainsFunc(words, func(w string) bool {
		id, _, _ := strings.Cut(w, "@")
		return id == it || w == "touch" && step != nil && step.Touch
	})
}

// pending is the first of some items that the expert has still to do, apart from one.
func (x *script) pending(i int, but string, words []string) string {
	for j := i; j < len(x.scenes); j++ {
		if it := item(x.head(j)); it != but && slices.Contains(words, it) && !x.doneBefore(i, it) {
			return it
		}
	}
	return ""
}

// itemLabel is an item in the middle of a sentence.
func itemLabel(w say.Words, it string) string {
	switch it {
	case string(rubric.Ask):
		return "the history"
	case string(rubric.Wait):
		return "a pause"
	case string(rubric.Conclude):
		return "the conclusion"
	}
	return "“" + w.Step(it) + "”"
}

// mostChoices are offered for a guess; anything else can be typed.
const mostChoices = 4

// choices are what is offered for a guess at scene i, by label: what the expert
// does, and steps of which some would do as well and some would not.
func (x *script) choices(i int) []string {
	out := []string{item(x.head(i))}
	var later []string
	for j := i + 1; j < len(x.scenes); j++ {
		if a := x.head(j); a.Kind == rubric.Examine && !slices.Contains(out, a.Step) && !slices.Contains(later, a.Step) {
			later = append(later, a.Step)
		}
	}
	if x.head(i).Kind == rubric.Handle {
		out = append(out, string(rubric.Wait))
	}
	for _, at := range []int{0, len(later) / 2, len(later) - 1, len(later) / 4, 3 * len(later) / 4} {
		if len(out) < mostChoices && at >= 0 && at < len(later) && !slices.Contains(out, later[at]) {
			out = append(out, later[at])
		}
	}
	w := x.cat.Words()
	slices.SortFunc(out, func(a, b string) int { return cmp.Compare(itemLabel(w, a), itemLabel(w, b)) })
	return out
}

// answerOf puts the verdict on a guess into words.
func (x *script) answerOf(i int, it string, w say.Words) face.ExpertAnswer {
	g := x.guess(i, it)
	theirs := itemLabel(w, item(x.head(i)))
	out := face.ExpertAnswer{Yours: itemLabel(w, it), Theirs: theirs, Verdict: g.verdict}
	switch g.verdict {
	case guessSame:
		out.Words = "That is what the expert does."
	case guessDone:
		out.Words = upperFirst(out.Yours) + " was done before. The expert goes on with " + theirs + "."
	case guessFits:
		out.Words = upperFirst(out.Yours) + " would do as well here: the rules allow both. The expert goes on with " + theirs + "."
	default:
		out.Words = upperFirst(out.Yours) + " has to wait. " + g.why(w) + " The expert goes on with " + theirs + "."
	}
	return out
}

// upperFirst begins a sentence with an item's label.
func upperFirst(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

// itemOfLine reads a typed line as an act to be guessed.
func (s *Server) itemOfLine(species, text string) (string, error) {
	acts, err := s.line(species, text, nearAll, "")
	if err != nil {
		return "", err
	}
	if len(acts) == 0 || acts[0].Kind == rubric.Record || acts[0].Kind == rubric.Lift {
		return "", invalid("/do", "Type something to do, such as “listen to the heart”; an entry on the sheet comes after it.")
	}
	return item(acts[0]), nil
}

// knownItem reports whether an item is one that can be guessed at all.
func knownItem(cat *cases.Catalogue, it string) bool {
	if how, ok := strings.CutPrefix(it, "handle:"); ok {
		return slices.ContainsFunc(cat.Handling, func(h cases.Handling) bool { return h.ID == how })
	}
	return cat.Step(it) != nil || it == string(rubric.Ask) || it == string(rubric.Wait) || it == string(rubric.Conclude)
}
