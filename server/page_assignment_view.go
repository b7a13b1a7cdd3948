package server

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"dewclaw/cases"
	"dewclaw/cases/trial"
	"dewclaw/rubric"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// cueChoices and placeChoices are what a sheet can show before the student writes.
var (
	cueChoices = []choiceRow{
		{ID: "full", Label: "Whole lines", Help: "every line of the sheet, with its choices"},
		{ID: "headings", Label: "Headings only", Help: "the parts of the animal; the student says what is to be charted there"},
		{ID: "none", Label: "Nothing", Help: "blank lines and the typed line"},
	}
	placeChoices = []choiceRow{
		{ID: "labelled", Label: "Named", Help: "the places of the chest piece bear their names"},
		{ID: "unlabelled", Label: "Not named", Help: "the student finds them on the animal"},
	}
)

// chosenOf are choices with one of them chosen.
func chosenOf(rows []choiceRow, id string) []choiceRow {
	out := make([]choiceRow, len(rows))
	for i, r := range rows {
		out[i] = r
		out[i].Chosen = r.ID == id
	}
	return out
}

func labelOf(rows []choiceRow, id string) string {
	for _, r := range rows {
		if r.ID == id {
			return r.Label + ": " + r.Help
		}
	}
	return id
}

// factsOf are what is asked, line by line.
func (s *Server) factsOf(st *standing) []factRow {
	a := st.a
	order := "the same for everybody"
	if a.Shuffled {
		order = "drawn for each student"
	}
	out := []factRow{{"Opens", s.moment(a.Opens)}, {"Closes", s.moment(a.Closes)}, {"Time and tries", asksWords(a)},
		{"Order of patients", order}, {"On the sheet", labelOf(cueChoices, a.Cue)}, {"On the chest", labelOf(placeChoices, a.Places)}, {"Marked by", rubricSaid(st)}}
	if exam.Kind(a.Kind) == exam.Sitting {
		return append(out, factRow{"Debrief", "held until you release it"})
	}
	return append(out, factRow{"Debrief", "at once; hints are given and noted"})
}

func rubricSaid(st *standing) string {
	switch {
	case st.scheme == nil:
		return "the rubric " + st.a.Track + ", which is gone"
	case st.a.RubricHash == "":
		return fmt.Sprintf("%s, version %d as it is now; the version in force when it is set stays", st.scheme.Title, st.scheme.Version)
	}
	return fmt.Sprintf("%s, version %d, whatever comes after it", st.scheme.Title, st.scheme.Version)
}

// slotsOf are the patients of it.
func (s *Server) slotsOf(st *standing) []slotRow {
	var out []slotRow
	for i, ids := range st.a.Slots {
		row := slotRow{N: i + 1, How: "the same for everybody"}
		if len(ids) > 1 {
			row.How = fmt.Sprintf("drawn for each student, one of %d", len(ids))
		}
		for _, id := range ids {
			row.Cases = append(row.Cases, s.slotCase(st, id))
		}
		out = append(out, row)
	}
	return out
}

func (s *Server) slotCase(st *standing, id string) slotCase {
	k := s.library.Case(id)
	if k == nil {
		return slotCase{Name: id, About: "no longer in the library"}
	}
	if st.sealed[id] {
		return slotCase{Name: s.caseName(st, k)}
	}
	row := slotCase{Name: k.Signalment.Name, About: signalment(s.facePatient(k)), Title: caseWords(k), Met: "nobody of this cohort has met it"}
	met := st.met[id]
	var words []string
	if met.Practice > 0 {
		words = append(words, fmt.Sprintf("met in practice by %d", met.Practice))
	}
	if met.Sitting > 0 {
		words = append(words, fmt.Sprintf("met in a sitting by %d", met.Sitting))
	}
	if len(words) > 0 {
		row.Met = strings.Join(words, ", ")
	}
	return row
}

// caseWords are a case's title and how hard it is said to be, for staff.
func caseWords(k *cases.Case) string {
	parts := []string{k.Title, fmt.Sprintf("difficulty %d", k.Difficulty), k.Situation}
	if k.Use != practice {
		parts = append(parts, "for exams only")
	}
	return joinSet(parts, " · ")
}

// mostNamed is how many students a page names.
const mostNamed = 400

// peopleOf is who is in the cohort, and what some have beyond the others here.
func (s *Server) peopleOf(st *standing) peopleSaid {
	out := peopleSaid{Students: count(len(st.students), "student"), Staff: count(len(st.staff), "instructor")}
	more := map[string]store.Accommodation{}
	for _, m := range st.more {
		more[m.Person] = m
	}
	for i, m := range st.students {
		if i < mostNamed {
			out.Names = append(out.Names, m.Name)
		}
		if x, ok := more[m.Person]; ok || m.Alternatives.Any() {
			out.More = append(out.More, s.moreRow(st.a, m, x))
		}
	}
	if n := len(st.students) - mostNamed; n > 0 {
		out.Names = append(out.Names, fmt.Sprintf("and %d more", n))
	}
	return out
}

func (s *Server) moreRow(a store.Assignment, m store.Member, x store.Accommodation) moreRow {
	terms := planOf(a).For(exam.Accommodation{Extra: x.Extra, Later: minutes(x.Later), Pauses: minutes(x.Pauses)})
	row := moreRow{Name: m.Name, Limit: "until it closes", Closes: s.moment(terms.Closes), Sounds: soundWays(m.Alternatives)}
	if terms.Limit > 0 {
		row.Limit = spell(terms.Limit)
	}
	if terms.Pauses > 0 {
		row.Pauses = spell(terms.Pauses)
	}
	return row
}

// drawRow is how equally hard the draws of one case are.
type drawRow struct {
	Name, Mean, SD, Width, Excluded, Verdict string
	State                                    string // why there are no figures; empty: there are
	Reasons                                  []string
}

// drawsSaid adds how equally hard the draws are, to a sitting.
func (s *Server) drawsSaid(ctx context.Context, p *assignmentPage, st *standing) error {
	if exam.Kind(st.a.Kind) != exam.Sitting || st.scheme == nil {
		return nil
	}
	all, known := casesOf(st.a), 0
	for _, id := range all {
		row := s.drawRow(st, id)
		if row.State == "" {
			known++
		}
		p.Draws = append(p.Draws, row)
	}
	if known < len(all) && st.a.Closes.After(s.now()) {
		p.Measuring = fmt.Sprintf("%d of %s measured.", known, count(len(all), "case"))
	}
	m, ok, err := s.trySums(ctx, st.a)
	if err != nil {
		return err
	}
	if ok {
		p.DrawsSaid = append(p.DrawsSaid, sumsWords(m, len(st.a.Slots)))
	}
	p.DrawsSaid = append(p.DrawsSaid, s.poolWords(st)...)
	return nil
}

func (s *Server) drawRow(st *standing, id string) drawRow {
	k := s.library.Case(id)
	if k == nil {
		return drawRow{Name: id, State: "no longer in the library"}
	}
	row := drawRow{Name: s.caseName(st, k)}
	d := st.draws[id]
	if d == nil {
		row.State = "waits to be measured"
		if done, of, now := s.atDraws.at(st.a.ID, id); now && of == 0 {
			row.State = "being measured"
		} else if now {
			row.State = fmt.Sprintf("being measured: %s of %s visits of simulated students", thousands(done), thousands(of))
		}
		return row
	}
	row.Mean, row.SD, row.Width = points1(d.Mean), points2(d.SD), points2(d.Width)
	row.Excluded = fmt.Sprintf("%d of %d", d.Excluded, d.Seeds)
	row.Verdict = verdictWords[d.Verdict]
	if !st.sealed[id] {
		row.Reasons = d.Reasons
	}
	return row
}

// thousands is a number with its thousands apart.
func thousands(n int) string {
	if n < 1000 {
		return strconv.Itoa(n)
	}
	return fmt.Sprintf("%s,%03d", thousands(n/1000), n%1000)
}

// verdictWords say a verdict with a mark.
var verdictWords = map[trial.Verdict]string{
	trial.DrawsAccepted: "✓ equally hard",
	trial.SeedsExcluded: "✓ equally hard without those left out",
	trial.SpreadAtFault: "✕ the spread is at fault",
	trial.NotJudged:     "– not judged",
}

// sumsWords say how far a student's patients are off together.
func sumsWords(m sums, patients int) string {
	what := "the patients of one student"
	if patients == 1 {
		what = "the patient of one student"
	}
	text := fmt.Sprintf("Tried with %d students drawn just now: %s came within %s points of the mean of the cases, where half a point is asked. Drawn without looking it would have been up to %s.",
		m.students, what, points2(m.most), points2(m.alone))
	if m.failed > 0 {
		text += fmt.Sprintf(" For %d of them no choice adds up; theirs are drawn one by one.", m.failed)
	}
	return text
}

// poolWords say where the cases of a pool are not equally hard among each other:
// which of them a student draws would matter.
func (s *Server) poolWords(st *standing) (out []string) {
	for i, ids := range st.a.Slots {
		var easy, hard *trial.Draws
		for _, id := range ids {
			d := st.draws[id]
			if d == nil || len(d.Levels) == 0 {
				continue
			}
			if easy == nil || middling(d) > middling(easy) {
				easy = d
			}
			if hard == nil || middling(d) < middling(hard) {
				hard = d
			}
		}
		if easy == nil || middling(easy)-middling(hard) <= trial.MostWidth {
			continue
		}
		out = append(out, fmt.Sprintf("The cases of patient %d are not equally hard among each other: a simulated student of the middle level earns %s with %s and %s with %s. Which of them one draws would matter by %s points.",
			i+1, points1(middling(easy)), s.nameIn(st, easy), points1(middling(hard)), s.nameIn(st, hard), points1(middling(easy)-middling(hard))))
	}
	return out
}

// middling is what the middle of the levels of students earns.
func middling(d *trial.Draws) rubric.Points { return d.Levels[len(d.Levels)/2].Mean }

func (s *Server) nameIn(st *standing, d *trial.Draws) string {
	if k := s.library.Case(d.Case); k != nil {
		return s.caseName(st, k)
	}
	return d.Case
}

// points2 are points with two decimals, points1 with one, rounded.
func points2(p rubric.Points) string { return pts(face.Points(p)) }

func points1(p rubric.Points) string {
	tenths := (p + 50) / 100
	return fmt.Sprintf("%d.%d", tenths/10, tenths%10)
}
