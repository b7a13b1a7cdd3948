package server

import (
	"cmp"
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"sync"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/say"
	"dewclaw/server/face"
)

// expertPatients are the patients whom an expert is watched with, the one that is
// taken first in front: each has a little to find and is no emergency. One that is
// kept from somebody is passed over; so are those that a school's library lacks.
var expertPatients = map[string][]string{
	"dog":    {"dibs", "wicket", "tansy"},
	"cat":    {"ottilie", "basil", "pilchard"},
	"rabbit": {"teasel", "bramley", "sorrel"},
	"horse":  {"corbin", "linnet", "quaker"},
	"cattle": {"primrose", "damson", "buttercup"},
}

// expertTrack is the marking scheme whose rules the expert keeps.
const expertTrack = "veterinary"

// script is an expert's whole examination of one patient. It never changes, apart
// from the answers to guesses, which are remembered.
type script struct {
	of      string // the case's id
	cat     *cases.Catalogue
	face    face.Patient
	patient *cases.Patient
	key     rubric.Key
	scheme  rubric.Rubric
	entries rubric.Transcript
	scenes  []scene
	report  rubric.Report

	mu      sync.Mutex
	guesses map[string]guessed // what became of a guess, by scene and guess
}

// mostScripts are kept: one of each species, and some for whom another patient
// has to do.
const mostScripts = 12

// scripts keeps the examinations of experts, each worked out once.
type scripts struct {
	mu   sync.Mutex
	kept map[string]*script
	used []string // keys, the one used last at the end
}

// get finds an examination or has it worked out. Two who ask at once wait for the same.
func (m *scripts) get(key string, work func() (*script, error)) (*script, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	at := slices.Index(m.used, key)
	if at >= 0 {
		m.used = append(slices.Delete(m.used, at, at+1), key)
		return m.kept[key], nil
	}
	s, err := work()
	if err != nil {
		return nil, err
	}
	if m.kept == nil {
		m.kept = map[string]*script{}
	}
	if len(m.used) >= mostScripts {
		delete(m.kept, m.used[0])
		m.used = m.used[1:]
	}
	m.kept[key], m.used = s, append(m.used, key)
	return s, nil
}

// expertCase is whom an expert is watched with: of the patients that are not kept
// from somebody the first of the table, else the plainest other one of the species
// that is for practice. ErrMissing: there is no such species, or nobody is free.
func expertCase(unsealed []*cases.Case, species string) (*cases.Case, error) {
	open := slices.DeleteFunc(slices.Clone(unsealed), func(k *cases.Case) bool {
		return k.Species != species || k.Use != practice || k.Fragile != "" || k.Situation == "triage"
	})
	if len(open) == 0 {
		return nil, ErrMissing
	}
	rank := func(k *cases.Case) int {
		if at := slices.Index(expertPatients[species], k.ID); at >= 0 {
			return at
		}
		return len(expertPatients[species]) + k.Difficulty
	}
	return slices.MinFunc(open, func(a, b *cases.Case) int { return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.ID, b.ID)) }), nil
}

// script is the expert's examination that this person may watch. In a sitting
// there is none.
func (s *Server) script(ctx context.Context, who face.Person, species string) (*script, error) {
	if err := s.notWhileSitting(ctx, who); err != nil {
		return nil, err
	}
	open, err := s.unsealed(ctx, who.ID, s.library.Cases())
	if err != nil {
		return nil, err
	}
	k, err := expertCase(open, species)
	if err != nil {
		return nil, err
	}
	return s.scriptFor(k)
}

// scriptFor is the expert's examination of one case. It is worked out once, and
// anew where the school's rules or ranges are others.
func (s *Server) scriptFor(k *cases.Case) (*script, error) {
	scheme, ranges := s.shelf.Load().current(expertTrack), s.table.Load()
	if scheme == nil {
		return nil, ErrMissing
	}
	return s.scripts.get(k.ID+"/"+scheme.Hash+"/"+fmt.Sprintf("%x", sha256.Sum256(ranges.Text)), func() (*script, error) {
		p, err := cases.NewPatientBy(s.library, k, expertSeed, ranges.Table)
		if err != nil {
			return nil, fmt.Errorf("expert: draw the patient: %w", err)
		}
		out := &script{of: k.ID, cat: s.library.Catalogue(k.Species), face: s.facePatient(k), patient: p, scheme: scheme.Rubric, guesses: map[string]guessed{}}
		return out, out.work()
	})
}

// expertSeed draws the patient of every expert: the same for everybody, so that
// two who watch can speak of it.
var expertSeed = cases.Seed{'w', 'a', 't', 'c', 'h', 'e', 'd'}

// work examines the patient.
func (x *script) work() (err error) {
	if x.key, err = x.patient.Key(x.scheme); err != nil {
		return fmt.Errorf("expert: compile the key: %w", err)
	}
	if x.entries, err = x.patient.Play(robot.Ideal(x.patient, x.key)); err != nil {
		return fmt.Errorf("expert: %w", err)
	}
	x.report = rubric.Grade(x.scheme, x.key, x.entries)
	x.scenes = scenesOf(x.entries)
	x.ask()
	return nil
}

// words are the catalogue's, with the school's units.
func (s *Server) scriptWords(x *script) say.Words { return s.words(x.cat) }

// scene is a run of acts that belong together: a step at all its sites with what
// is charted of it, the questions to the owner, or one other act.
type scene struct {
	from, to int // entries[from:to]
	asks     bool
}

// head is the act that a scene is about.
func (x *script) head(i int) rubric.Act { return x.entries[x.scenes[i].from].Act }

// of are the entries of a scene.
func (x *script) in(i int) rubric.Transcript { return x.entries[x.scenes[i].from:x.scenes[i].to] }

func scenesOf(t rubric.Transcript) []scene {
	var out []scene
	for i := range t {
		if n := len(out); n > 0 && belongs(t[out[n-1].from].Act, t[i].Act) {
			out[n-1].to = i + 1
			continue
		}
		out = append(out, scene{from: i, to: i + 1})
	}
	return out
}

// belongs reports whether an act goes on with what the head of a scene began.
func belongs(head, a rubric.Act) bool {
	switch a.Kind {
	case rubric.Examine:
		return head.Kind == rubric.Examine && head.Step == a.Step
	case rubric.Ask:
		return head.Kind == rubric.Ask
	case rubric.Record:
		return a.Field != "" && head.Kind == rubric.Examine || a.Region != "" && head.Kind == rubric.Record
	}
	return false
}

// mostAsks are the questions of one examination: more would be an interrogation.
const mostAsks = 9

// ask chooses where to ask what comes next: at the first examination of every
// stage, and where the animal has just shown something.
func (x *script) ask() {
	seen, n := map[string]bool{}, 0
	for i := range x.scenes {
		a := x.head(i)
		stage := ""
		if a.Kind == rubric.Examine {
			stage = stageOfStep(x.cat, a.Step)
		}
		fresh := stage != "" && !seen[stage]
		seen[stage] = seen[stage] || stage != ""
		answers := a.Kind == rubric.Handle && i > 0 && len(x.signsBefore(i)) > 0
		if x.scenes[i].asks = (fresh || answers) && n < mostAsks; x.scenes[i].asks {
			n++
		}
	}
}

// signsBefore are what the animal showed in the act before a scene.
func (x *script) signsBefore(i int) []string {
	at := x.scenes[i].from
	for at--; at >= 0; at-- {
		if x.entries[at].Act.Kind != rubric.Record {
			return x.entries[at].Outcome.Signs
		}
	}
	return nil
}
