package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/drill"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// An item that was asked longer ago than leftAfter was left: it is void. A drill
// ends when so many times its items were asked, whatever became of them.
const (
	leftAfter = 15 * time.Minute
	mostAsked = 2
)

// Why an item never counts.
const (
	voidLeft    = "left"
	voidSlept   = "slept"
	voidStalled = "stalled"
)

var voidWhys = []string{voidStalled, voidSlept, voidLeft}

// drillRun is one's own drill with its items.
type drillRun struct {
	row   store.Drill
	items []store.DrillItem
	kind  drill.Kind
}

// last is the newest item; there always is one.
func (r *drillRun) last() *store.DrillItem { return &r.items[len(r.items)-1] }

func (r *drillRun) count(state string) (n int) {
	for _, it := range r.items {
		if it.State == state {
			n++
		}
	}
	return n
}

// full says that a drill has all its items.
func (r *drillRun) full() bool {
	return r.count(store.ItemMarked) >= r.kind.Items || len(r.items) >= mostAsked*r.kind.Items
}

// drillKind finds a kind of drill.
func drillKind(id string) (drill.Kind, bool) {
	k, known := drill.KindOf(id)
	if !known {
		k = drill.Kind{ID: id, Label: id, Items: 1} // an older program knew it
	}
	return k, known
}

// drillSpecies are the species in which there is a kind of drill here.
func (s *Server) drillSpecies(k drill.Kind) []string {
	return slices.DeleteFunc(slices.Clone(k.Species), func(id string) bool { return s.library.Catalogue(id) == nil })
}

// drillKinds are all kinds, with when this person last did each.
func (s *Server) drillKinds(ctx context.Context, who face.Person) ([]face.DrillKind, error) {
	last, err := s.store.LastDrills(ctx, who.ID)
	if err != nil {
		return nil, err
	}
	out := []face.DrillKind{}
	for _, k := range drill.Kinds() {
		out = append(out, face.DrillKind{ID: k.ID, Label: k.Label, Hint: k.Hint, Items: k.Items, Seconds: k.Seconds,
			Species: s.drillSpecies(k), Last: timeOrNone(last[k.ID])})
	}
	return out, nil
}

// beginDrill begins a drill with its first item and ends the one that was left.
func (s *Server) beginDrill(ctx context.Context, v visitor, kind, species string) (store.Drill, error) {
	if err := s.notWhileSitting(ctx, v.person); err != nil {
		return store.Drill{}, err
	}
	if err := s.hasRoom(); err != nil {
		return store.Drill{}, err
	}
	k, known := drillKind(kind)
	if !known {
		var ids []string
		for _, k := range drill.Kinds() {
			ids = append(ids, k.ID)
		}
		return store.Drill{}, invalid("/kind", "One of "+strings.Join(ids, ", ")+".")
	}
	if species != "" && !slices.Contains(s.drillSpecies(k), species) {
		return store.Drill{}, invalid("/species", fmt.Sprintf("%s: there is one in %s. Leave it out for any.", k.Label, strings.Join(s.drillSpecies(k), ", ")))
	}
	p, err := s.store.Person(ctx, v.person.ID)
	if err != nil {
		return store.Drill{}, fmt.Errorf("drill: %w", err)
	}
	row := store.Drill{Person: p.ID, Kind: k.ID, Species: species, Holder: s.holder(v.session), Alternatives: p.Alternatives}
	first, err := s.drawItem(row, 1, nil)
	if err != nil {
		return store.Drill{}, err
	}
	return s.store.BeginDrill(ctx, row, first)
}

// mostRedrawn is how often an item is drawn anew that asks for a loudness.
const mostRedrawn = 30

// drawItem draws the n-th item of a drill. Whoever is given sounds in another way
// than by ear is not asked how loud something is.
func (s *Server) drawItem(d store.Drill, n int, before []string) (store.DrillItem, error) {
	for range mostRedrawn {
		species := d.Species
		if species == "" {
			species = s.anySpecies(d.Kind)
		}
		it, err := drill.Draw(s.library, d.Kind, species, n, before, cases.NewSeed())
		if err != nil {
			return store.DrillItem{}, fmt.Errorf("draw an item: %w", err)
		}
		if !d.Alternatives.Any() || !s.asksLoudness(it) {
			return store.DrillItem{Item: it.Encode(), Kind: d.Kind, Species: species, Skill: it.Skill()}, nil
		}
		before = append([]string{it.Past()}, before...) // as if it had been asked: another question is due
	}
	return store.DrillItem{}, invalid("/kind", "This drill is about how loud something is to an ear, which is not asked of you, for sounds are also given to you "+soundWays(d.Alternatives)+". Choose another.")
}

// anySpecies is one of those in which there is a kind of drill.
func (s *Server) anySpecies(kind string) string {
	k, _ := drillKind(kind)
	all := s.drillSpecies(k)
	if len(all) == 0 {
		return ""
	}
	return all[below(len(all))]
}

// asksLoudness says that an item asks how loud something is, at one place.
func (s *Server) asksLoudness(it drill.Item) bool {
	field, _, placed := strings.Cut(it.Place(), "@")
	cat := s.library.Catalogue(it.Species())
	return placed && cat != nil && cat.GradedByEar(field)
}

// drillRun reads one's own drill. Another's is absent.
func (s *Server) drillRun(ctx context.Context, who face.Person, id string) (*drillRun, error) {
	row, items, err := s.store.OwnDrill(ctx, who.ID, id)
	if err != nil {
		return nil, missing("drill", err)
	}
	if err := s.notWhileSitting(ctx, who); err != nil {
		return nil, err
	}
	r := &drillRun{row: row, items: items}
	r.kind, _ = drillKind(row.Kind)
	if len(items) == 0 {
		return nil, fmt.Errorf("drill: without items")
	}
	return r, nil
}

// left says that an item was asked too long ago to be answered now.
func (s *Server) left(it *store.DrillItem) bool {
	return it.State == store.ItemAsked && s.now().Sub(it.Asked) > leftAfter
}

// drillHere reads a drill to work on it: this session has it, and it goes on.
func (s *Server) drillHere(ctx context.Context, v visitor, id string) (*drillRun, error) {
	r, err := s.drillRun(ctx, v.person, id)
	if err != nil {
		return nil, err
	}
	if r.row.Holder != s.holder(v.session) {
		return nil, drillElsewhere(nil)
	}
	return r, nil
}

func drillElsewhere(cause error) error {
	return &Fault{Kind: ErrElsewhere, Text: "This drill was opened on another device, which took over. Go on there, or take it back here.", Cause: cause}
}

// drillFault says what a drill's store refuses.
func drillFault(n int, err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, store.ErrElsewhere):
		return drillElsewhere(err)
	case errors.Is(err, store.ErrUsed):
		return &Fault{Kind: ErrNotNow, Text: fmt.Sprintf("Item %d was answered already, or does not count. What was first stands.", n), Cause: err}
	case errors.Is(err, store.ErrClosed):
		return &Fault{Kind: ErrOver, Text: "This drill has ended. Begin another.", Cause: err}
	}
	return missing("drill", err)
}

// drillDeeds are what can be done to a drill as a whole.
var drillDeeds = []struct {
	name string
	do   func(*Server, context.Context, visitor, string, int) error
}{
	{"next", (*Server).nextItem}, {"here", (*Server).takeDrill}, {"end", (*Server).endDrill},
}

// drillDeed does one of drillDeeds; n is the item that who asks sees.
func (s *Server) drillDeed(ctx context.Context, v visitor, id, deed string, n int) error {
	var names []string
	for _, d := range drillDeeds {
		if names = append(names, d.name); d.name == deed {
			return d.do(s, ctx, v, id, n)
		}
	}
	if _, err := s.drillRun(ctx, v.person, id); err != nil {
		return err
	}
	return invalid("/deed", "One of "+strings.Join(names, ", ")+".")
}

// nextItem goes on after the n-th item: to a new one, or to the end. Asked twice,
// it is done once.
func (s *Server) nextItem(ctx context.Context, v visitor, id string, n int) error {
	r, err := s.drillHere(ctx, v, id)
	if err != nil || !r.row.Ended.IsZero() || n != r.last().N {
		return err
	}
	if r.last().State == store.ItemAsked && !s.left(r.last()) {
		return &Fault{Kind: ErrNotNow, Text: fmt.Sprintf("Item %d waits for its answer.", n)}
	}
	if r.full() {
		return drillFault(n, s.store.EndDrill(ctx, r.row))
	}
	next, err := s.drawItem(r.row, n+1, s.past(r))
	if err != nil {
		return err
	}
	if err := s.store.AskNext(ctx, r.row, n, next); err != nil && !errors.Is(err, store.ErrUsed) {
		return drillFault(n, err)
	}
	return nil
}

// past is what the items so far were, so that the next is another. One that
// cannot be read any more is left out.
func (s *Server) past(r *drillRun) (out []string) {
	for _, row := range r.items {
		if it, err := drill.Decode(s.library, row.Item); err == nil {
			out = append(out, it.Past())
		}
	}
	return out
}

// takeDrill gives a drill to the session that asks.
func (s *Server) takeDrill(ctx context.Context, v visitor, id string, _ int) error {
	r, err := s.drillRun(ctx, v.person, id)
	if err != nil {
		return err
	}
	r.row.Holder = s.holder(v.session)
	return drillFault(0, s.store.HoldDrill(ctx, r.row))
}

// endDrill ends a drill before its last item.
func (s *Server) endDrill(ctx context.Context, v visitor, id string, _ int) error {
	r, err := s.drillHere(ctx, v, id)
	if err != nil {
		return err
	}
	return drillFault(r.last().N, s.store.EndDrill(ctx, r.row))
}

// item finds an item of a drill.
func (r *drillRun) item(n int) (*store.DrillItem, error) {
	if n < 1 || n > len(r.items) {
		return nil, ErrMissing
	}
	return &r.items[n-1], nil
}

// answered is an answer as it was sent, and how sure somebody is.
type answered struct {
	drill.Answer
	Sure string // empty, guess, fairly or sure
}

// sures are the words for how sure somebody is, with what they are taken for.
var sures = map[string]int{"": 0, "guess": 50, "fairly": 75, "sure": 95}

// answerItem marks an answer. One that comes after the item was left is void.
func (s *Server) answerItem(ctx context.Context, v visitor, id string, n int, a answered) error {
	r, err := s.drillHere(ctx, v, id)
	if err != nil {
		return err
	}
	row, err := r.item(n)
	if err != nil {
		return err
	}
	sure, known := sures[a.Sure]
	switch {
	case row.State != store.ItemAsked:
		return drillFault(n, store.ErrUsed)
	case !known:
		return invalid("/sure", "Leave it out, or guess, fairly or sure.")
	case s.left(row):
		return drillFault(n, s.store.VoidItem(ctx, r.row, n, voidLeft))
	}
	it, err := drill.Decode(s.library, row.Item)
	if err != nil {
		s.log.Error("an item of a drill cannot be read", "kind", row.Kind, "cause", err.Error())
		return drillFault(n, s.store.VoidItem(ctx, r.row, n, voidStalled))
	}
	res, err := it.Answer(a.Answer)
	if err != nil {
		return badAnswer(err)
	}
	settled, err := settledItem(it, res, a, sure)
	if err != nil {
		return err
	}
	settled.N = n
	return drillFault(n, s.store.AnswerItem(ctx, r.row, settled))
}

// settledItem is what is kept of an answer.
func settledItem(it drill.Item, res drill.Result, a answered, sure int) (store.DrillItem, error) {
	ask := it.Face()
	told := face.ItemTold{Asked: ask.Words, Said: saidItem(ask, a.Answer), Actual: res.Actual, Reason: res.Reason, Right: res.Right, Mark: int(res.Mark), Sure: sure}
	raw, err := json.Marshal(told)
	if err != nil {
		return store.DrillItem{}, fmt.Errorf("answer: %w", err)
	}
	acts, err := actLines(res.Acts)
	return store.DrillItem{Mark: int(res.Mark), Sure: sure, Acts: acts, Told: raw}, err
}

// voidItem makes an item void, for one of voidWhys.
func (s *Server) voidItem(ctx context.Context, v visitor, id string, n int, why string) error {
	r, err := s.drillHere(ctx, v, id)
	if err != nil {
		return err
	}
	if _, err := r.item(n); err != nil {
		return err
	}
	if !slices.Contains(voidWhys, why) {
		return invalid("/why", "One of "+strings.Join(voidWhys, ", ")+".")
	}
	return drillFault(n, s.store.VoidItem(ctx, r.row, n, why))
}
