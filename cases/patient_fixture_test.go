package cases

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// smallCatalogue is an examination of a few steps, independent of the library.
func smallCatalogue() *Catalogue {
	c := &Catalogue{
		Species: "dog", Label: "Dog",
		Stages: []Stage{{"distance", "From a distance"}, {"head", "Head"}, {"chest", "Chest"}, {"abdomen", "Abdomen"}, {"hindlimbs", "Hindlimbs"}, {"rear", "Rear"}},
		Regions: []Region{
			{ID: "distance", Stage: "distance"}, {ID: "mouth", Stage: "head"}, {ID: "heart", Stage: "chest"},
			{ID: "abdomen", Stage: "abdomen"}, {ID: "hip", Stage: "hindlimbs"}, {ID: "tail", Stage: "rear"}, {ID: "temperature", Stage: "rear"},
		},
		Steps: []Step{
			{ID: "distance.observe", Region: "distance", Verb: "inspect", Label: "Watch", Least: 10, Seconds: 30, Sense: "words", Reveals: []string{"mentation"}},
			{ID: "breathing.count", Region: "distance", Verb: "count", Label: "Count breaths", Seconds: 30, Sense: "picture", Reveals: []string{"resp.rate"}, AlsoIn: []string{"chest"}, Measure: true},
			{ID: "mouth.refill", Region: "mouth", Verb: "press", Label: "Press the gum", Seconds: 8, Stress: 10, Sense: "picture", Reveals: []string{"crt"}, Touch: true, Measure: true},
			{ID: "heart.auscultate", Region: "heart", Verb: "auscultate", Label: "Listen to the heart", Sites: []string{"left apex", "left base", "right apex"}, Least: 5, Seconds: 15, Stress: 6, Sense: "sound", Reveals: []string{"heart.rate", "heart.rhythm", "heart.murmur"}, Touch: true, Measure: true},
			{ID: "abdomen.palpate", Region: "abdomen", Verb: "palpate", Label: "Feel the abdomen", Least: 5, Seconds: 20, Stress: 20, Sense: "words", Reveals: []string{"bladder.size"}, Touch: true},
			{ID: "hip.move", Region: "hip", Verb: "move", Label: "Move the hip", Sites: []string{"left", "right"}, Seconds: 15, Stress: 30, Sense: "words", Reveals: []string{"hip.motion"}, Touch: true},
			{ID: "temperature.measure", Region: "temperature", Verb: "measure", Label: "Take the temperature", Sites: []string{"rectal", "axillary", "ear"}, Seconds: 30, Stress: 45, Sense: "reading", Reveals: []string{"temperature"}, Touch: true, Measure: true},
			{ID: "testes.palpate", Region: "tail", Verb: "palpate", Label: "Feel the testes", Seconds: 8, Sense: "words", Reveals: []string{"testes.feel"}, Applies: Applies{Sex: "male entire"}, Touch: true},
		},
		Fields: []Field{
			{ID: "mentation", Region: "distance", Kind: "choice", Of: []Choice{{ID: "alert", Cue: []string{"Follows you with the eyes.", "Looks up as you come in."}}, {ID: "dull", Cue: []string{"Hardly looks up as you come."}}}, Normal: []string{"alert"}, Weight: "major"},
			{ID: "resp.rate", Region: "distance", Kind: "count", Unit: "/min", Vital: "resp_rate", NormalAt: "18..30"},
			{ID: "crt", Region: "mouth", Kind: "time", Unit: "s", Vital: "crt", NormalAt: "1.0..2.0"},
			{ID: "heart.rate", Region: "heart", Kind: "count", Unit: "/min", Vital: "heart_rate", NormalAt: "70..120"},
			{ID: "heart.rhythm", Region: "heart", Kind: "choice", Of: []Choice{{ID: "regular", Cue: []string{"Even beats."}}, {ID: "sinus arrhythmia", Cue: []string{"Quicker and slower with the breath."}}, {ID: "irregular", Cue: []string{"Beats without any order."}}}, Normal: []string{"regular"}, Variants: []string{"sinus arrhythmia"}},
			{ID: "heart.murmur", Region: "heart", Kind: "grade", PerSite: true, Strongest: true, Of: []Choice{{ID: "none", Cue: []string{"Clean sounds."}}, {ID: "1", Cue: []string{"c1"}}, {ID: "2", Cue: []string{"c2"}}, {ID: "3", Cue: []string{"c3"}}, {ID: "4", Cue: []string{"c4"}}, {ID: "5", Cue: []string{"c5"}}, {ID: "6", Cue: []string{"c6"}}}, Normal: []string{"none"}, Tolerance: 1, Weight: "major"},
			{ID: "bladder.size", Region: "abdomen", Kind: "choice", Of: []Choice{{ID: "soft", Cue: []string{"A soft, half filled bag."}}, {ID: "turgid", Cue: []string{"A ball as hard as wood."}}}, Normal: []string{"soft"}, Weight: "major"},
			{ID: "hip.motion", Region: "hip", Kind: "choice", PerSite: true, Of: []Choice{{ID: "free", Cue: []string{"Goes back all the way."}}, {ID: "short", Cue: []string{"Stops half way back."}}}, Normal: []string{"free"}},
			{ID: "temperature", Region: "temperature", Kind: "number", Unit: "degC", Vital: "temperature", NormalAt: "38.0..39.0"},
			{ID: "testes.feel", Region: "tail", Kind: "choice", Of: []Choice{{ID: "even", Cue: []string{"Two even, smooth."}}}, Normal: []string{"even"}},
		},
		Topics: []Topic{{ID: "appetite"}, {ID: "thirst"}},
		Handling: []Handling{
			{ID: "reassure", Stress: -60, Seconds: 10}, {ID: "settle", Stress: -120, Seconds: 60},
			{ID: "oxygen", Effect: "oxygen", Seconds: 20}, {ID: "stop", Effect: "stop", Stress: -80, Seconds: 20}, {ID: "call", Effect: "call", Seconds: 10},
			{ID: "muzzle", Effect: "muzzle", Stress: 60, Seconds: 15}, {ID: "hold lateral", Hold: true, Stress: 60, Seconds: 10}, {ID: "hold standing", Hold: true, Stress: 5, Seconds: 5},
		},
		Precautions: []Precaution{
			{ID: "settle first", Kind: "before", Done: []string{"handle:settle", "wait"}, Steps: []string{"touch"}},
			{ID: "painful last", Kind: "last", Steps: []string{"{painful}"}, Among: []string{"{peers}"}},
		},
		Problems: []ProblemTerm{{ID: "osteoarthritis"}, {ID: "obstruction"}},
		Hazards:  []Hazard{{ID: "on its side", Hold: "hold lateral", Severity: "minor", Why: "It resists lying down.", Sign: "Struggles up again."}},
	}
	c.reindex()
	return c
}

// smallCase is a patient of the small catalogue; change it with the options.
func smallCase(change ...func(*Case)) *Case {
	c := &Case{
		ID: "small", Species: "dog", Situation: "routine", Demeanour: "friendly",
		Signalment:  Signalment{Sex: "female neutered", AgeDays: 3000, Grams: 24500},
		History:     History{Answers: map[string]string{"appetite": "Eats well."}, Otherwise: "I have not noticed.", Required: []string{"appetite"}},
		Truth:       []Truth{{Field: "heart.rate", Low: "88", High: "108"}, {Field: "heart.murmur", Site: "left apex", Values: []string{"4"}}, {Field: "hip.motion", Site: "right", Values: []string{"short"}}, {Field: "temperature", Values: []string{"38.5"}}},
		Negatives:   []string{"bladder.size", "hip.motion@left"},
		Precautions: []string{"painful last"},
		Conclusions: Conclusions{Problems: []ExpectedProblem{{ID: "osteoarthritis", Signs: []string{"hip.motion@right"}}}, Urgency: "routine", Report: []string{"hip.motion@right"}},
	}
	for _, f := range change {
		f(c)
	}
	return c
}

func smallLibrary() *Library {
	return &Library{catalogues: map[string]*Catalogue{"dog": smallCatalogue()}, byID: map[string]*Case{}}
}

func smallPatient(t testing.TB, seed uint64, change ...func(*Case)) *Patient {
	t.Helper()
	p, err := NewPatient(smallLibrary(), smallCase(change...), SeedOf(seed))
	require.NoError(t, err)
	return p
}

// play plays acts that must all be lawful.
func play(t testing.TB, p *Patient, acts ...rubric.Act) rubric.Transcript {
	t.Helper()
	out, err := p.Play(acts)
	require.NoError(t, err)
	return out
}

func examine(step, site string, seconds int) rubric.Act {
	return rubric.Act{Kind: rubric.Examine, Step: step, Site: site, Seconds: seconds}
}

func handling(how string) rubric.Act { return rubric.Act{Kind: rubric.Handle, How: how} }

// events lists the ids of all events.
func events(t rubric.Transcript) []string {
	var out []string
	for _, e := range t {
		for _, x := range e.Outcome.Events {
			out = append(out, x.ID)
		}
	}
	return out
}

// shownAt is the truth shown at an entry.
func shownAt(e rubric.Entry, field, site string) string {
	for _, s := range e.Outcome.Shown {
		if s.Field == field && s.Site == site {
			return s.Value
		}
	}
	return ""
}
