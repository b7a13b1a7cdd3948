package server

import (
	"bytes"
	"encoding/csv"
	"net/http"
	"strings"
	"testing"

	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// linesOfCSV reads a gradebook as a spreadsheet would: another reader than ours wrote it.
func linesOfCSV(t testing.TB, r *reply) []map[string]string {
	t.Helper()
	body := r.is(http.StatusOK).body
	require.True(t, bytes.HasPrefix(body, []byte{0xEF, 0xBB, 0xBF}), "a byte-order mark (Unicode 16, 2.13)")
	require.Contains(t, r.header.Get("Content-Disposition"), "attachment")
	require.NotContains(t, strings.ReplaceAll(string(body), "\r\n", ""), "\n", "lines end as RFC 4180, 2.1 says")
	rows, err := csv.NewReader(bytes.NewReader(body[3:])).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, name := range rows[0] {
			m[name] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func lineOfCSV(t testing.TB, c *client, a store.Assignment, login string) map[string]string {
	t.Helper()
	for _, m := range linesOfCSV(t, c.get("/assignments/"+a.ID+"/gradebook.csv")) {
		if m["login"] == login {
			return m
		}
	}
	require.Fail(t, "no line of "+login)
	return nil
}

func TestGradebook(t *testing.T) {
	sc := newSchool(t)
	evil := []string{`=HYPERLINK("http://evil","x")`, "+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", " =1", "Ann, \"the\" vet", "Øyvind Ærlig", "漢字"}
	for i, name := range evil {
		p, err := sc.s.store.AddPerson(t.Context(), store.NewPerson{Login: "pupil" + string(rune('a'+i)), Name: "x", Role: "student", Number: name})
		require.NoError(t, err)
		sc.enrol(p.ID, "student")
	}
	a := sc.sitting1("tansy")
	_, visits := sc.sitsThrough("student", a, typically(3, 1))
	staff := sc.as("instructor")
	r := staff.toMark(visits[0].ID)
	row := lineOfCSV(t, staff, a, "student")
	require.Equal(t, []string{"Person student", "Finals", "sitting", "1", "Tansy", "graded", r.Total.String(), r.Total.String(), "no", "no"},
		[]string{row["name"], row["assignment"], row["kind"], row["try"], row["patient"], row["state"], row["total"], row["computed"], row["excused"], row["released"]})
	for _, d := range r.Domains {
		require.Equal(t, d.Points.String(), row[d.ID], d.ID)
	}
	require.Equal(t, "not begun", lineOfCSV(t, staff, a, "student2")["state"])
	for i, name := range evil {
		got := lineOfCSV(t, staff, a, "pupil"+string(rune('a'+i)))["number"]
		want := name
		if i < 7 {
			want = "'" + name
		}
		require.Equal(t, strings.ReplaceAll(want, "\r", ""), got, "a carriage return of its own is dropped by the writer")
	}
	all := linesOfCSV(t, staff.get("/cohorts/"+sc.cohort+"/gradebook.csv"))
	require.Len(t, all, 2+len(evil))
	require.Contains(t, sc.deedWordsOf(), deedGradebook)
}
