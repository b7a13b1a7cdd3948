package server

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dewclaw/cases"
	"dewclaw/server/store"
)

// slotFormRow lays one patient of the form out.
func (s *Server) slotFormRow(i int, f slotForm, visible []*cases.Case, met map[string]store.Met) slotFormRow {
	row := slotFormRow{N: i + 1, At: i}
	row.Species, row.Systems, row.Difficulties = s.filtersOf(f, visible)
	ticked := 0
	for _, k := range visible {
		on := slices.Contains(f.Cases, k.ID)
		if !on && !f.matches(k) {
			continue
		}
		tick := caseTick{ID: k.ID, Name: k.Signalment.Name, About: signalment(s.facePatient(k)), Title: caseWords(k), Ticked: on}
		if m := met[k.ID]; m.Practice > 0 {
			tick.Met = "met in practice by " + strconv.Itoa(m.Practice)
		}
		if on {
			ticked++
		}
		row.Cases = append(row.Cases, tick)
	}
	slices.SortStableFunc(row.Cases, func(a, b caseTick) int { return cmp.Compare(order(b.Ticked), order(a.Ticked)) }) // ticked ones in sight
	for _, id := range f.Cases {                                                                                       // what is gone stays until it is unticked
		if s.library.Case(id) == nil && len(id) <= store.MaxName {
			row.Cases, ticked = append(row.Cases, caseTick{ID: id, Name: "A patient that is no longer in the library", Title: id, Ticked: true}), ticked+1
		}
	}
	switch {
	case len(row.Cases) == 0:
		row.Said = "No patient matches. Choose something else above, and show the list again."
	case ticked == 1:
		row.Said = "One is ticked: everybody meets this patient."
	case ticked > 1:
		row.Said = fmt.Sprintf("%d are ticked: one of them is drawn for each student.", ticked)
	}
	return row
}

func order(ticked bool) int {
	if ticked {
		return 1
	}
	return 0
}

// filtersOf are the ways of narrowing a list, with what is chosen.
func (s *Server) filtersOf(f slotForm, visible []*cases.Case) (species, systems, difficulties []choiceRow) {
	seen := map[string]bool{}
	add := func(to *[]choiceRow, kind, id, label, chosen string) {
		if key := kind + "\x00" + id; !seen[key] {
			seen[key] = true
			*to = append(*to, choiceRow{ID: id, Label: label, Chosen: id == chosen})
		}
	}
	add(&species, "species", "", "any species", f.Species)
	add(&systems, "system", "", "any system", f.System)
	add(&difficulties, "difficulty", "", "any difficulty", f.Difficulty)
	for _, k := range visible {
		add(&species, "species", k.Species, s.library.Catalogue(k.Species).Label, f.Species)
		for _, system := range k.Tags["system"] {
			add(&systems, "system", system, system, f.System)
		}
		add(&difficulties, "difficulty", strconv.Itoa(k.Difficulty), "difficulty "+strconv.Itoa(k.Difficulty), f.Difficulty)
	}
	for _, rows := range [][]choiceRow{species, systems, difficulties} {
		slices.SortStableFunc(rows[1:], func(a, b choiceRow) int { return strings.Compare(a.Label, b.Label) })
	}
	return species, systems, difficulties
}
