package store_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

// Whoever writes to the database, also past this program, changes no note.
func TestTheLogIsOnlyAddedTo(t *testing.T) {
	s := storetest.New(t)
	for i := range 3 {
		require.NoError(t, s.Record(t.Context(), store.Note{Deed: "look", About: fmt.Sprintf("thing:%d", i), Reason: "why"}))
	}
	db := s.Raw()
	only := `INSERT OR REPLACE INTO audit (n, at, "by", deed, about, cohort, detail, reason, words) VALUES (1, 0, '', 'x', 'y', '', '', '', '')`
	drop := "DROP TRIGGER audit_no_update"
	if storetest.OnPostgres() {
		only, drop = "TRUNCATE audit", "DROP TRIGGER audit_no_change ON audit"
	}
	for _, text := range []string{
		"UPDATE audit SET reason = 'another' WHERE n = 1", "DELETE FROM audit WHERE n = 1", "DELETE FROM audit", only,
		`INSERT INTO audit (n, at, "by", deed, about, cohort, detail, reason, words) VALUES (2, 0, '', 'x', 'y', '', '', '', '') ON CONFLICT (n) DO UPDATE SET deed = 'x'`,
	} {
		_, err := db.Exec(text)
		require.ErrorContains(t, err, "only added to", text)
	}
	notes, err := s.Notes(t.Context(), store.NoteFilter{})
	require.NoError(t, err)
	require.Len(t, notes, 3)

	_, err = db.Exec(drop)
	require.NoError(t, err)
	s.Reopen()
	_, err = db.Exec("UPDATE audit SET reason = 'another'")
	require.ErrorContains(t, err, "only added to", "a guard that was taken away is back at the next start")
}

// changes finds a statement that would change or remove a note.
var changes = regexp.MustCompile(`(?is)(UPDATE\s+audit\b|DELETE\s+FROM\s+audit\b|REPLACE\s+INTO\s+audit\b|DROP\s+TABLE\s+audit\b|(Update|Updates|Save|Delete)\(&?Note\b|Model\(&Note\{\}\)[^\n]*\.(Update|Updates|Delete|Save)\()`)

func TestNoStatementChangesTheLog(t *testing.T) {
	for _, bad := range []string{"UPDATE audit SET n = 1", "delete from audit", "tx.Model(&Note{}).Where(1).Delete(", "tx.Save(&Note{"} {
		require.Regexp(t, changes, bad)
	}
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	sqls, err := filepath.Glob("migrations/*.sql")
	require.NoError(t, err)
	for _, name := range append(files, sqls...) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		raw, err := os.ReadFile(name)
		require.NoError(t, err)
		require.NotRegexp(t, changes, string(raw), name)
	}
}

func TestNotesAreFound(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	staff, ann, ben := s.MakePerson("instructor"), s.MakePerson("student"), s.MakePerson("student")
	c, err := s.AddCohort(ctx, "Autumn", staff.ID, false)
	require.NoError(t, err)
	require.NoError(t, s.SetMember(ctx, c.ID, ann.ID, "student", store.Note{By: staff.ID, Deed: "add member"}))
	visit := s.MakeAttempt(ann.ID, "stairs")
	require.NoError(t, s.Record(ctx, store.Note{By: staff.ID, Deed: "mark", About: fmt.Sprintf("transcript:%d", visit.Transcript), Cohort: c.ID, Reason: "heard it"}))
	s.Clock.Add(48 * time.Hour)
	require.NoError(t, s.Record(ctx, store.Note{By: ben.ID, Deed: "look", About: "thing:1"}))

	for name, row := range map[string]struct {
		f    store.NoteFilter
		want string
	}{
		"all":             {store.NoteFilter{}, "look mark add make"},
		"of a person":     {store.NoteFilter{People: []string{ann.ID}}, "mark add"},
		"by a person":     {store.NoteFilter{People: []string{ben.ID}}, "look"},
		"of nobody":       {store.NoteFilter{People: []string{}}, ""},
		"of a kind":       {store.NoteFilter{Kind: "transcript"}, "mark"},
		"of some deeds":   {store.NoteFilter{Deeds: []string{"mark", "look"}}, "look mark"},
		"of the cohorts":  {store.NoteFilter{Cohorts: []string{c.ID}}, "mark add make"},
		"of no cohort":    {store.NoteFilter{Cohorts: []string{}}, ""},
		"of an empty one": {store.NoteFilter{Cohorts: []string{""}}, ""},
		"since":           {store.NoteFilter{From: storetest.Start.Add(time.Hour)}, "look"},
		"until":           {store.NoteFilter{Until: storetest.Start.Add(time.Hour)}, "mark add make"},
		"the next page":   {store.NoteFilter{Before: 3}, "add make"},
	} {
		notes, err := s.Notes(ctx, row.f)
		require.NoError(t, err, name)
		var deeds []string
		for _, n := range notes {
			deeds = append(deeds, strings.Fields(n.Deed)[0])
		}
		require.Equal(t, row.want, strings.Join(deeds, " "), name)
	}

	notes, err := s.Notes(ctx, store.NoteFilter{Deeds: []string{"mark"}})
	require.NoError(t, err)
	require.Equal(t, "heard it", notes[0].Reason)
	known, err := s.AboutsOf(ctx, notes)
	require.NoError(t, err)
	require.Equal(t, ann.Name, known.People[ann.ID].Name)
	require.Equal(t, "stairs", known.Visits[visit.Transcript].Case)
	require.Equal(t, "Autumn", known.Cohorts[c.ID])

	require.NoError(t, s.ErasePerson(ctx, ann.ID, store.Blank{}))
	notes, err = s.Notes(ctx, store.NoteFilter{Deeds: []string{"mark"}})
	require.NoError(t, err)
	require.Equal(t, store.Erased, notes[0].Reason, "why something was done to somebody goes with them")
	known, err = s.AboutsOf(ctx, notes)
	require.NoError(t, err)
	require.NotContains(t, known.People, ann.ID)
}
