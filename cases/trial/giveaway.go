package trial

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// MostArea is how far a number may tell what is abnormal without looking at what
// it is of: the area under the ROC curve, either way from a half.
const MostArea = 0.60

// LeastPlaces is of how many different places of cases there must be either kind,
// normal and abnormal, for an area to mean something.
const LeastPlaces = 20

// LeastCases is of how many cases there must be places: what one patient has is
// that patient's, and gives nobody else's away.
const LeastCases = 3

// What is watched only with the first seeds: words and times differ from seed
// to seed by the variants alone, and media have one length.
const (
	wordSeeds  = 20
	mediaSeeds = 2
)

// The numbers that must not tell.
const (
	byWords   = "length of the words"
	bySound   = "bytes of the sound"
	byPicture = "bytes of the picture"
	bySeconds = "seconds of the step"
)

var tells = []string{byWords, bySound, byPicture, bySeconds}

// ofTheStep says of a number that whoever examines knows it beforehand, by the
// step or by whether a step is heard or watched. Between steps it tells only
// which of them find something more often, and that of a handful of cases; so by
// species it is held within each step, and between the steps over all.
func ofTheStep(what string) bool { return what != byWords }

// Giveaway is how well a number tells abnormal from normal, over the cases of a
// species or over all.
type Giveaway struct {
	Species          string
	What             string
	Cases            int     // how many
	Normal, Abnormal int     // different places of them
	Area             float64 // over everything
	Within           float64 // each field, or step, compared with itself only
	HasWithin        bool
	Judged, Holds    bool
	Why              string // why it is not judged, in words
}

// source is what a number was of: only within it a student could compare.
type source struct{ species, what, of string }

// kindOf is a place of a case, normal or abnormal.
type kindOf struct {
	species, what string
	place         string // begins with the id of the case and a space
	abnormal      bool
}

// watcher gathers the numbers of some patients.
type watcher struct {
	by    map[source]counts
	kinds map[kindOf]bool
}

func newWatcher() *watcher {
	return &watcher{by: map[source]counts{}, kinds: map[kindOf]bool{}}
}

func (w *watcher) add(species, what, of, place string, value int, abnormal bool) {
	at := source{species, what, of}
	if w.by[at] == nil {
		w.by[at] = counts{}
	}
	w.by[at].add(value, abnormal)
	w.kinds[kindOf{species, what, place, abnormal}] = true
}

func (w *watcher) join(other *watcher) {
	for at, c := range other.by {
		if w.by[at] == nil {
			w.by[at] = counts{}
		}
		w.by[at].join(c)
	}
	for k := range other.kinds {
		w.kinds[k] = true
	}
}

// watch examines a patient by every step at every site, each as the first act,
// and notes how long the words are, how long it took, and with media how many
// bytes they have.
func (w *watcher) watch(c *cases.Case, p *cases.Patient, k *rubric.Key, media bool) error {
	for i := range p.Catalogue().Steps {
		step := &p.Catalogue().Steps[i]
		sites := step.Sites
		if len(sites) == 0 {
			sites = []string{""}
		}
		for _, site := range sites {
			if !p.Applies(step.ID) {
				continue
			}
			act := rubric.Act{N: 1, Kind: rubric.Examine, Step: step.ID, Site: site, Manner: "gentle"}
			out, err := p.Apply(nil, act)
			if err != nil {
				return err
			}
			if out.Refused || out.Ended != "" {
				continue // nothing was sensed
			}
			if err := w.note(c, p, k, rubric.Entry{Act: act, Outcome: out}, media); err != nil {
				return err
			}
		}
	}
	return nil
}

// note takes the numbers of one examination: of every field that it shows, and
// of the clip as a whole. A step that shows ten fields takes longer than one that
// shows two, and has something abnormal among them more often; so its seconds
// stand for each field apart.
func (w *watcher) note(c *cases.Case, p *cases.Patient, k *rubric.Key, e rubric.Entry, media bool) error {
	whole := e.Act.Step + "@" + e.Act.Site
	clip, clipped, wrong := "", false, false
	for i, pc := range e.Outcome.Percepts {
		abnormal, known := judged(p.Catalogue(), k, e.Outcome.Shown[i])
		if !known {
			continue
		}
		wrong = wrong || abnormal
		place := c.ID + " " + whole + " " + pc.Field + "@" + pc.Site
		w.add(c.Species, byWords, pc.Field, place, utf8.RuneCountInString(pc.Words), abnormal)
		w.add(c.Species, bySeconds, e.Act.Step, place, e.Outcome.Clock, abnormal)
		if pc.Sense == "sound" || pc.Sense == "picture" {
			clip, clipped = pc.Sense, true
		}
	}
	if !clipped || !media {
		return nil
	}
	data, what, err := shown(p, e, clip)
	if err != nil {
		return err
	}
	w.add(c.Species, what, e.Act.Step, c.ID+" "+whole, len(data), wrong)
	return nil
}

// shown is the clip of an act, and what its length would tell by.
func shown(p *cases.Patient, e rubric.Entry, clip string) ([]byte, string, error) {
	if clip == "sound" {
		data, err := p.Sound(e, 0)
		return data, bySound, err
	}
	pic, err := p.Picture(e, 0)
	return pic.Bytes, byPicture, err
}

// judged says whether what was shown is abnormal; not known where nothing says
// what is normal, such as of a weight. A vital is judged as it is at rest: that
// an armpit is cooler is no abnormality.
func judged(cat *cases.Catalogue, k *rubric.Key, s rubric.Shown) (abnormal, known bool) {
	f := cat.Field(s.Field)
	if f == nil {
		return false, false
	}
	if f.Chosen() {
		return f.Abnormal(s.Value), true
	}
	x, err := rubric.ParseMilli(s.Value)
	if err != nil {
		return false, false
	}
	for i := range k.Vitals {
		if v := &k.Vitals[i]; v.Field == s.Field && v.HasRange {
			return v.Rest < v.Low || v.Rest > v.High, true
		}
	}
	for i := range k.Fields {
		if f := &k.Fields[i]; f.ID == s.Field && f.Ranged {
			return x < f.NormalLow || x > f.NormalHigh, true
		}
	}
	return false, false
}

// overAll is the species' name of everything together.
const overAll = "all"

// giveaways judges what was watched, by species and over all.
func (w *watcher) giveaways() []Giveaway {
	var species []string
	for at := range w.by {
		if !slices.Contains(species, at.species) {
			species = append(species, at.species)
		}
	}
	slices.Sort(species)
	var out []Giveaway
	for _, s := range append(species, overAll) {
		for _, what := range tells {
			out = append(out, w.giveaway(s, what))
		}
	}
	return out
}

func (w *watcher) giveaway(species, what string) Giveaway {
	g := Giveaway{Species: species, What: what}
	whole, wins, pairs := counts{}, 0.0, 0.0
	apart := map[string]counts{} // by field or step, over the species
	for at, c := range w.by {
		if at.what != what || species != overAll && at.species != species {
			continue
		}
		whole.join(c)
		of := at.species + " " + at.of
		if apart[of] == nil {
			apart[of] = counts{}
		}
		apart[of].join(c)
	}
	patients := map[string]bool{}
	for k := range w.kinds {
		if k.what != what || species != overAll && k.species != species {
			continue
		}
		id, _, _ := strings.Cut(k.place, " ")
		patients[id] = true
		if k.abnormal {
			g.Abnormal++
		} else {
			g.Normal++
		}
	}
	g.Cases = len(patients)
	for _, c := range apart {
		u, n := c.wins()
		wins, pairs = wins+u, pairs+n
	}
	g.Area, _ = whole.area()
	if g.HasWithin = pairs > 0; g.HasWithin {
		g.Within = wins / pairs
	}
	return g.settled()
}

// settled judges the areas, or says why not.
func (g Giveaway) settled() Giveaway {
	few := func(n int, kind string) {
		if n < LeastPlaces && g.Why == "" {
			g.Why = fmt.Sprintf("too few that are %s to judge: %d of the %d places needed", kind, n, LeastPlaces)
		}
	}
	few(g.Abnormal, "abnormal")
	few(g.Normal, "normal")
	if g.Cases < LeastCases && g.Why == "" {
		g.Why = fmt.Sprintf("too few patients to judge: %d of the %d needed", g.Cases, LeastCases)
	}
	g.Judged = g.Why == ""
	tells := func(area float64) bool { return math.Abs(area-.5) > MostArea-.5+1e-9 }
	between := g.Species == overAll || !ofTheStep(g.What)
	g.Holds = g.Judged && !(between && tells(g.Area)) && !(g.HasWithin && tells(g.Within))
	return g
}
