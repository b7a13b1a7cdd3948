package roster

import "slices"

// Person is somebody with an account, as far as a roster asks.
type Person struct {
	ID, Number, Login, Name, Email string
	Role                           string   // in this cohort; empty: not a member
	Elsewhere                      []string // names of other cohorts that the person is a student of
	Staff                          bool     // a coordinator, whom no roster touches
}

// Deed is what a roster would do with one row.
type Deed string

// The deeds, in the order in which a preview lists them.
const (
	New       Deed = "new"       // an account is made, with a one-time link, and joins
	Joins     Deed = "joins"     // has an account, in no cohort
	Moved     Deed = "moved"     // joins, and leaves the cohorts named
	Changed   Deed = "changed"   // another name, address or role
	Unchanged Deed = "unchanged" // as it is
	Leaves    Deed = "leaves"    // a student who is not on the roster; only where that was asked for
)

// Deeds are all of them, in their order.
func Deeds() []Deed { return []Deed{New, Joins, Moved, Changed, Unchanged, Leaves} }

// Change is one line of a preview.
type Change struct {
	Deed   Deed
	Row    Row    // as the roster has it; of Leaves: made of what is known
	Person Person // zero: new
}

// Whole says that a roster is all of the cohort: who is not on it leaves.
type Whole bool

// Plan says what a roster would change, row by row in the order of the lines,
// then which students leave: a list of students says nothing of who teaches
// them. A row whose login is another person's is a problem. To plan
// again after it was done finds everything unchanged.
func Plan(rows []Row, have []Person, whole Whole) (changes []Change, problems []Problem) {
	byNumber, byLogin := map[string]int{}, map[string]int{}
	for i, p := range have {
		if p.Number != "" {
			byNumber[p.Number] = i
		}
		byLogin[p.Login] = i
	}
	met := map[string]bool{}
	for _, r := range rows {
		i, known := byNumber[r.Number]
		j, taken := byLogin[r.Login]
		switch {
		case known && taken && i != j, !known && taken && have[j].Number != "" && have[j].Number != r.Number:
			problems = append(problems, Problem{r.Line, "login", "this login is somebody else's; give this person another"})
			continue
		case !known && taken:
			i, known = j, true
		}
		if !known {
			changes = append(changes, Change{New, r, Person{}})
			continue
		}
		if have[i].Staff {
			problems = append(problems, Problem{r.Line, "", "this person is a coordinator and is not moved by a roster"})
			continue
		}
		if have[i].Role == "instructor" && r.Role == "student" {
			problems = append(problems, Problem{r.Line, "role", "this person is an instructor of the cohort and stays one; change that on the page of the cohort"})
			met[have[i].ID] = true
			continue
		}
		if have[i].Number == "" && r.Number == r.Login { // not a number of the school's: the login stood in for it
			r.Number = ""
		}
		met[have[i].ID] = true
		changes = append(changes, Change{deedOf(r, have[i]), r, have[i]})
	}
	if whole {
		for _, p := range have {
			if p.Role == "student" && !met[p.ID] && !p.Staff {
				changes = append(changes, Change{Leaves, Row{Number: p.Number, Login: p.Login, Name: p.Name, Email: p.Email, Role: p.Role}, p})
			}
		}
	}
	return changes, problems
}

func deedOf(r Row, p Person) Deed {
	switch {
	case p.Role == "" && r.Role == "student" && len(p.Elsewhere) > 0:
		return Moved
	case p.Role == "":
		return Joins
	case p.Name != r.Name || p.Role != r.Role || p.Number != r.Number || r.Email != "" && p.Email != r.Email:
		return Changed
	}
	return Unchanged
}

// Count says how many changes there are of a deed.
func Count(changes []Change, d Deed) int {
	n := 0
	for _, c := range changes {
		if c.Deed == d {
			n++
		}
	}
	return n
}

// Sharp says whether so many would leave that a person must say it is meant:
// more than one member in five (OneRoster importers' rule, standards' practice).
func Sharp(changes []Change, have []Person) bool {
	members := slices.DeleteFunc(slices.Clone(have), func(p Person) bool { return p.Role == "" })
	return Count(changes, Leaves)*5 > len(members)
}
