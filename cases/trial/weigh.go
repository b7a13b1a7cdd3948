package trial

import (
	"errors"
	"fmt"
	"runtime"
	"sync"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/cohort"
)

// MostCorrelation is how far two domains may go together among robots whose
// skills are independent, before they say the same thing twice.
const MostCorrelation = 0.30

// LeastRobots is below how many robots the figures are hardly more than chance.
const LeastRobots = 30

// mostRobots bounds the memory of one weighing.
const mostRobots = 100_000

// Weighing is what a rubric really weighs, and whether luck, guessing and
// touching nothing can earn anything by it.
type Weighing struct {
	Rubric  string   `json:"rubric"`
	Title   string   `json:"title"`
	Track   string   `json:"track"`
	Version int      `json:"version"`
	Engine  string   `json:"engine"`
	Cases   []string `json:"cases"`
	Robots  int      `json:"robots"`
	Seed    uint64   `json:"seed"`

	Weights cohort.Weights `json:"weights"`
	// Moves is how every skill (row) correlates with every domain (column).
	// Off the diagonal it should be near nothing: what stands there, one skill
	// carries into another's domain.
	Moves [][]cohort.Figure `json:"moves"`

	Bounds []Bound  `json:"bounds"`
	Notes  []string `json:"notes"`  // what to keep in mind, in words: too few robots, what is marked twice
	Misses []string `json:"misses"` // what does not hold, in words
}

// Weigh sends n robots with six independent skills each, drawn from the seed,
// to the patients of some cases, one after the other, and marks them by the
// rubric. The same arguments give the same weighing. Errors: no case, fewer
// than two robots, a patient that cannot be drawn or a key that the rubric
// cannot be compiled to.
func Weigh(l *cases.Library, r rubric.Rubric, over []*cases.Case, n int, seed uint64) (Weighing, error) {
	if len(over) == 0 {
		return Weighing{}, errors.New("trial: a rubric is weighed over at least one case")
	}
	if n < 2 || n > mostRobots {
		return Weighing{}, fmt.Errorf("trial: %d robots; right would be 2 to %d", n, mostRobots)
	}
	w := Weighing{
		Rubric: r.ID, Title: r.Title, Track: r.Track, Version: r.Version, Engine: rubric.Engine,
		Robots: n, Seed: seed, Misses: []string{},
	}
	for _, c := range over {
		w.Cases = append(w.Cases, c.ID)
	}
	if err := w.figures(l, r, over); err != nil {
		return Weighing{}, err
	}
	var err error
	if w.Bounds, err = bounds(l, r, over, PatientsACase, ordersACase); err != nil {
		return Weighing{}, err
	}
	if w.Notes, err = doubles(l, r, over); err != nil {
		return Weighing{}, err
	}
	w.words()
	return w, nil
}

// figures sends the robots and weighs what they earned.
func (w *Weighing) figures(l *cases.Library, r rubric.Rubric, over []*cases.Case) error {
	skills, reports, err := send(l, r, over, w.Robots, w.Seed)
	if err != nil {
		return err
	}
	if w.Weights, err = cohort.Weigh(reports, r.Weights); err != nil {
		return err
	}
	columns, _, err := cohort.Columns(reports)
	if err != nil {
		return err
	}
	w.Moves = cohort.Correlations(skills, columns)
	return nil
}

// send sends the robots, robot i to case i modulo the cases, and returns their
// skills, as shares, and their marked visits.
func send(l *cases.Library, r rubric.Rubric, over []*cases.Case, n int, seed uint64) ([][]float64, []rubric.Report, error) {
	skills, reports, errs := make([][]float64, len(robot.SkillNames())), make([]rubric.Report, n), make([]error, n)
	for i := range skills {
		skills[i] = make([]float64, n)
	}
	next := make(chan int)
	var crew sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		crew.Go(func() {
			for i := range next {
				id := seed*mostRobots + uint64(i)
				has := robot.DrawSkills(id)
				for j, s := range has.List() {
					skills[j][i] = float64(s) / 1000
				}
				reports[i], errs[i] = attend(l, r, over[i%len(over)], has, id)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	crew.Wait()
	return skills, reports, errors.Join(errs...)
}

// attend is one robot's visit, marked. Only the sums of the domains are kept.
func attend(l *cases.Library, r rubric.Rubric, c *cases.Case, has robot.Skills, id uint64) (rubric.Report, error) {
	p, k, err := patient(l, r, c, id)
	if err != nil {
		return rubric.Report{}, err
	}
	rep, err := mark(p, r, k, robot.Skilled(p, k, has, id))
	for i := range rep.Domains {
		rep.Domains[i].Lines = nil
	}
	rep.Walk, rep.Vitals, rep.Findings = rubric.Walk{}, nil, nil
	return rep, err
}

// patient draws a patient with its key.
func patient(l *cases.Library, r rubric.Rubric, c *cases.Case, id uint64) (*cases.Patient, rubric.Key, error) {
	p, err := cases.NewPatient(l, c, cases.SeedOf(id))
	if err != nil {
		return nil, rubric.Key{}, err
	}
	k, err := p.Key(r)
	return p, k, err
}

// mark plays acts and marks them.
func mark(p *cases.Patient, r rubric.Rubric, k rubric.Key, acts []rubric.Act) (rubric.Report, error) {
	t, err := p.Play(acts)
	if err != nil {
		return rubric.Report{}, err
	}
	return rubric.Grade(r, k, t), nil
}

// words says what does not hold, and what to keep in mind.
func (w *Weighing) words() {
	if w.Notes == nil {
		w.Notes = []string{}
	}
	if w.Robots < LeastRobots {
		w.Notes = append(w.Notes, fmt.Sprintf("Too few robots: %d are hardly more than chance; at least %d are needed, and 2,500 for the bounds below to mean much.", w.Robots, LeastRobots))
	}
	if !w.Weights.SD.Known || w.Weights.SD.Value == 0 {
		w.Notes = append(w.Notes, "All robots have the same total, so that nothing can be weighed.")
	}
	for i := range w.Weights.Domains {
		for j := range i {
			a, b, x := w.Weights.Domains[j].ID, w.Weights.Domains[i].ID, w.Weights.Correlation[i][j]
			if x.Known && x.Value > MostCorrelation {
				w.Misses = append(w.Misses, fmt.Sprintf("%s and %s correlate by %.3f, more than %.2f.", a, b, x.Value, MostCorrelation))
			}
		}
	}
	for _, b := range w.Bounds {
		if b.Judged && !b.Holds {
			w.Misses = append(w.Misses, b.Sentence())
		}
	}
}
