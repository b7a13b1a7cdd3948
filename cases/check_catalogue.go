package cases

import (
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric"
)

// catalogueCheck looks through a loaded catalogue.
type catalogueCheck struct {
	c        *Catalogue
	problems []Problem
}

// catalogueChecks are all that a catalogue must stand.
var catalogueChecks = []func(*catalogueCheck){
	(*catalogueCheck).head,
	(*catalogueCheck).skills,
	(*catalogueCheck).regions,
	(*catalogueCheck).steps,
	(*catalogueCheck).fields,
	(*catalogueCheck).numbers,
	(*catalogueCheck).words,
	(*catalogueCheck).precautions,
	(*catalogueCheck).hazards,
	(*catalogueCheck).names,
}

func checkCatalogue(c *Catalogue) []Problem {
	k := &catalogueCheck{c: c}
	for _, check := range catalogueChecks {
		check(k)
	}
	return k.problems
}

func (k *catalogueCheck) say(where []string, format string, args ...any) {
	k.problems = append(k.problems, k.c.marks.at(where...).problem(format, args...))
}

// want complains of a member that is missing.
func (k *catalogueCheck) want(ok bool, section, id, key, what string) {
	if !ok {
		k.say([]string{section, id}, "%s %q needs %s: %s", strings.TrimSuffix(section, "s"), id, key, what)
	}
}

// known complains of a reference to a row that is not there.
func (k *catalogueCheck) known(where []string, what, id string, ids []string) bool {
	if slices.Contains(ids, id) {
		return true
	}
	if id == "" {
		k.say(where, "a %s should be named here%s", what, nearestOf(id, ids))
		return false
	}
	k.say(where, "there is no %s %q%s", what, clip(id, 60), nearestOf(id, ids))
	return false
}

// ids lists the ids of rows.
func ids[T any](rows []T, id func(*T) *string) []string {
	out := make([]string, len(rows))
	for i := range rows {
		out[i] = *id(&rows[i])
	}
	return out
}

func (k *catalogueCheck) head() {
	if k.c.Label == "" {
		k.say([]string{"catalogue"}, "a catalogue needs label: the species' name as it is shown")
	}
	if k.c.Caution == "" {
		k.say([]string{"catalogue"}, "a catalogue needs caution: what to say about a live animal")
	}
	for _, v := range k.c.Verbs {
		k.want(v.Label != "", "verbs", v.ID, "label", "its name")
	}
	for _, s := range k.c.Stages {
		k.want(s.Label != "", "stages", s.ID, "label", "its name")
	}
}

func (k *catalogueCheck) regions() {
	stages := ids(k.c.Stages, stageID)
	for _, g := range k.c.Regions {
		k.want(g.Label != "", "regions", g.ID, "label", "its name")
		k.known([]string{"regions", g.ID, "stage"}, "stage", g.Stage, stages)
		k.want(g.Point != [2]int{}, "regions", g.ID, "point", "[x, y] on the drawing")
		if !slices.ContainsFunc(k.c.Steps, func(s Step) bool { return s.Region == g.ID }) {
			k.say([]string{"regions", g.ID}, "region %q has no step; without one it cannot be examined", g.ID)
		}
	}
}

func (k *catalogueCheck) steps() {
	regions, fields, stages := ids(k.c.Regions, regionID), ids(k.c.Fields, fieldID), ids(k.c.Stages, stageID)
	verbs := ids(k.c.Verbs, verbID)
	for _, s := range k.c.Steps {
		at := func(key string, more ...string) []string { return append([]string{"steps", s.ID, key}, more...) }
		k.known(at("region"), "region", s.Region, regions)
		k.known(at("verb"), "verb", s.Verb, verbs)
		k.want(s.Label != "", "steps", s.ID, "label", "its name")
		k.want(s.Seconds > 0, "steps", s.ID, "seconds", "what it costs in simulated time")
		k.want(s.Sense != "", "steps", s.ID, "sense", "words, sound, picture or reading")
		k.want(len(s.Reveals) > 0, "steps", s.ID, "reveals", "the fields that it shows")
		for i, f := range s.Reveals {
			k.known(at("reveals", fmt.Sprint(i)), "field", f, fields)
		}
		for i, g := range s.AlsoIn {
			k.known(at("also_in", fmt.Sprint(i)), "stage", g, stages)
		}
		if len(s.At) > 0 {
			k.spots(&s, at)
		}
	}
}

// apart is how far two sites of one step must lie from each other on one side of
// the trunk, in thousandths of its drawing: less than a fingertip's breadth on a
// telephone, and a chest piece would always lie on both (derived).
const apart = 80

// spots checks that every site of a step has a point of its own.
func (k *catalogueCheck) spots(s *Step, at func(string, ...string) []string) {
	placed := make([]string, len(s.At))
	for i, spot := range s.At {
		placed[i] = spot.Site
		if !k.known(at("at", spot.Site), "site of "+s.ID+" called", spot.Site, s.Sites) {
			continue
		}
		for _, other := range s.At[:i] {
			dx, dy := spot.Point[0]-other.Point[0], spot.Point[1]-other.Point[1]
			if other.Right() == spot.Right() && dx*dx+dy*dy < apart*apart {
				k.say(at("at", spot.Site), "%q lies too near to %q on the drawing; they should be %d thousandths apart or more", spot.Site, other.Site, apart)
			}
		}
	}
	for _, site := range s.Sites {
		if !slices.Contains(placed, site) {
			k.say(at("at"), "%q has no point for its site %q; add %s: [x, y] in thousandths of the drawing of the trunk", s.ID, site, site)
		}
	}
}

func (k *catalogueCheck) fields() {
	regions, fields := ids(k.c.Regions, regionID), ids(k.c.Fields, fieldID)
	for i := range k.c.Fields {
		f := &k.c.Fields[i]
		at := func(key string, more ...string) []string { return append([]string{"fields", f.ID, key}, more...) }
		k.known(at("region"), "region", f.Region, regions)
		k.want(f.Label != "", "fields", f.ID, "label", "its name on the sheet")
		k.want(f.Kind != "", "fields", f.ID, "kind", strings.Join(fieldKinds, ", "))
		k.want(f.Meaning != "", "fields", f.ID, "meaning", "one line on what it is")
		if !slices.ContainsFunc(k.c.Steps, func(s Step) bool { return slices.Contains(s.Reveals, f.ID) }) {
			k.say([]string{"fields", f.ID}, "no step reveals %q; add it to the reveals of one", f.ID)
		}
		k.sites(f, at)
		for i, other := range f.AcceptAs {
			k.known(at("accept_as", fmt.Sprint(i)), "field", other, fields)
		}
		if f.Chosen() {
			k.choices(f, at)
		}
	}
}

func (k *catalogueCheck) sites(f *Field, at func(string, ...string) []string) {
	switch {
	case !f.PerSite && (len(f.Sites) > 0 || f.Strongest):
		k.say(at("sites"), "%q has sites or strongest but not per_site: true", f.ID)
	case f.PerSite && len(f.Sites) == 0:
		k.say(at("per_site"), "%q is per_site, but no step that reveals it has sites", f.ID)
	case f.PerSite:
		var offered []string
		for _, s := range k.c.Steps {
			if slices.Contains(s.Reveals, f.ID) {
				offered = append(offered, s.Sites...)
			}
		}
		for i, site := range f.Sites {
			k.known(at("sites", fmt.Sprint(i)), "site of the steps that reveal it called", site, offered)
		}
	}
}

func (k *catalogueCheck) choices(f *Field, at func(string, ...string) []string) {
	of := ids(f.Of, choiceID)
	if len(of) < 2 {
		k.say(at("of"), "%q is a %s and needs at least two choices under of:", f.ID, f.Kind)
	}
	for _, ch := range f.Of {
		if len(ch.Cue) == 0 {
			k.say(at("of", ch.ID), "choice %q of %q needs a cue: what is sensed, in words", ch.ID, f.ID)
		}
		if ch.Applies != (Applies{}) && slices.Contains(f.Normal, ch.ID) {
			k.say(at("of", ch.ID, "applies"), "applies is for variants, and %q is the normal of %q; list it under variants: instead", ch.ID, f.ID)
		}
		if ch.UpTo != "" {
			k.say(at("of", ch.ID, "up_to"), "up_to is for the bands of a number; %q is a %s", f.ID, f.Kind)
		}
	}
	if len(f.Normal) == 0 {
		k.say(at("normal"), "%q needs normal: the choices that are normal", f.ID)
	}
	for i, v := range f.Normal {
		k.known(at("normal", fmt.Sprint(i)), "choice", v, of)
	}
	for i, v := range f.Variants {
		if k.known(at("variants", fmt.Sprint(i)), "choice", v, of) && slices.Contains(f.Normal, v) {
			k.say(at("variants", fmt.Sprint(i)), "%q is normal already; it cannot be a variant too", v)
		}
	}
	if f.NormalAt != "" {
		k.say(at("normal_at"), "normal_at is for numbers; say normal: [choices]")
	}
}

// numbers checks what stands only in numeric fields.
func (k *catalogueCheck) numbers() {
	for i := range k.c.Fields {
		f := &k.c.Fields[i]
		if f.Chosen() || f.Kind == "" {
			continue
		}
		at := []string{"fields", f.ID, "normal_at"}
		if f.Vital == "" && f.NormalAt == "" {
			k.say(at, "%q needs normal_at: the value of a healthy animal, such as 1.2..1.8", f.ID)
		} else if _, _, err := rangeOf(f.NormalAt); err != nil {
			k.say(at, "normal_at of %q: %v", f.ID, err)
		}
		if f.Kind == "score" && len(f.Of) < 2 {
			k.say([]string{"fields", f.ID}, "a score needs of: every score with its cue")
		}
		last := rubric.Milli(-1 << 60)
		for _, ch := range f.Of {
			at := []string{"fields", f.ID, "of", ch.ID}
			text := ch.UpTo
			if f.Kind == "score" {
				text = ch.ID
			}
			if text == "" {
				continue
			}
			x, err := rubric.ParseMilli(text)
			if err != nil || x <= last {
				k.say(at, "the bands and scores of %q should be numbers that rise; %q does not", f.ID, text)
			}
			last = x
		}
	}
}

// rangeOf reads a number or a range low..high.
func rangeOf(s string) (low, high rubric.Milli, err error) {
	a, b, isRange := strings.Cut(s, "..")
	if low, err = rubric.ParseMilli(strings.TrimSpace(a)); err != nil {
		return 0, 0, fmt.Errorf("%q should be a number such as 38.5 or a range such as 38.2..38.8", clip(s, 40))
	}
	if !isRange {
		return low, low, nil
	}
	if high, err = rubric.ParseMilli(strings.TrimSpace(b)); err != nil {
		return 0, 0, fmt.Errorf("%q should be a number such as 38.5 or a range such as 38.2..38.8", clip(s, 40))
	}
	if high < low {
		return 0, 0, fmt.Errorf("the range %s runs backwards; write %s..%s", clip(s, 40), high, low)
	}
	return low, high, nil
}

func (k *catalogueCheck) words() {
	for _, t := range k.c.Topics {
		k.want(t.Label != "", "topics", t.ID, "label", "its name")
		k.want(t.Ask != "", "topics", t.ID, "ask", "the question in words")
	}
	for _, h := range k.c.Handling {
		k.want(h.Label != "", "handling", h.ID, "label", "its name")
	}
	for _, p := range k.c.Problems {
		k.want(p.Label != "", "problems", p.ID, "label", "its name")
		k.want(p.Meaning != "", "problems", p.ID, "meaning", "one line on what it is")
	}
}

// precautions checks that every row speaks of known steps and acts.
func (k *catalogueCheck) precautions() {
	for _, q := range k.c.Precautions {
		k.want(q.Label != "", "precautions", q.ID, "label", "its name")
		k.want(q.Kind != "", "precautions", q.ID, "kind", "before, last, gentle or done")
		needsDone := q.Kind == "before" || q.Kind == "done"
		k.want(!needsDone || len(q.Done) > 0, "precautions", q.ID, "done", "what earns it")
		k.want(q.Kind == "done" || len(q.Steps) > 0, "precautions", q.ID, "steps", "the steps that it guards")
		k.want(q.Kind != "last" || len(q.Among) > 0, "precautions", q.ID, "among", "the steps that come before")
		for key, list := range map[string][]string{"done": q.Done, "steps": q.Steps, "among": q.Among} {
			for i, word := range list {
				k.actor([]string{"precautions", q.ID, key, fmt.Sprint(i)}, word)
			}
		}
	}
}

// actor checks a word that stands for acts: touch, ask, wait, {painful},
// {peers}, handle:id, step, step@site.
func (k *catalogueCheck) actor(where []string, word string) {
	if slices.Contains([]string{"touch", "ask", "wait", "{painful}", "{peers}"}, word) {
		return
	}
	if how, ok := strings.CutPrefix(word, "handle:"); ok {
		k.known(where, "handling", how, ids(k.c.Handling, handlingID))
		return
	}
	step, site, sited := strings.Cut(word, "@")
	if k.known(where, "step", step, ids(k.c.Steps, stepID)) && sited {
		k.known(where, "site of "+step+" called", site, k.c.Step(step).Sites)
	}
}

func (k *catalogueCheck) hazards() {
	for i := range k.c.Hazards {
		h := &k.c.Hazards[i]
		k.problems = append(k.problems, checkHazard(k.c, h, func(key string) mark {
			return k.c.marks.at("hazards", h.ID, key)
		})...)
	}
}

// names finds words of the typed line that stand for two things.
func (k *catalogueCheck) names() {
	for _, n := range k.c.words().clashes() {
		k.say([]string{n.section, n.id}, "%q is a name of %s %s and of %s %s; a typed line could not tell them apart",
			n.word, strings.TrimSuffix(n.section, "s"), n.id, strings.TrimSuffix(n.otherSection, "s"), n.other)
	}
}
