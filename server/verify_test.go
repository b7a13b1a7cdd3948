package server

import (
	"database/sql"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store/storetest"
)

// verified holds the whole database against its promises, as 'dewclaw verify' does.
func (sc *school) verified() Verified {
	sc.t.Helper()
	v, err := Verify(sc.t.Context(), sc.s.store, nil)
	require.NoError(sc.t, err)
	require.Empty(sc.t, v.First)
	require.Empty(sc.t, v.Others)
	return v
}

// TestALaterReportThatWasChangedIsFound: also the reports that a marking anew keeps
// are derived again; that they come out equal is held where markings anew are tested.
func TestALaterReportThatWasChangedIsFound(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.playVisits(2)
	sc.layRubric("ours.yaml", version2(t, "order: 10, completeness: 25", "order: 25, completeness: 10"))
	sc.restart()
	sc.proposal(sc.as("instructor"))
	require.Equal(t, 6, sc.verified().Equal, "two reports in force, before and after")
	driver, address := "sqlite", strings.TrimPrefix(sc.url(), "sqlite:")
	if storetest.OnPostgres() {
		driver, address = "pgx", sc.url()
	}
	db, err := sql.Open(driver, address)
	require.NoError(t, err)
	defer db.Close()
	_, err = db.Exec("UPDATE later_reports SET total = total + 1 WHERE transcript = 1")
	require.NoError(t, err)
	v, err := Verify(t.Context(), sc.s.store, nil)
	require.NoError(t, err)
	require.Equal(t, 1, v.Count)
	require.Contains(t, v.First[0], "transcript 1, later_reports of marking anew")
	require.Equal(t, 5, v.Equal)
}
