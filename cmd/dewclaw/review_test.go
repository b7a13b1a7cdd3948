package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric/file"
)

// What was not read in a source is listed until somebody has looked at it as it
// stands; a mark is one row of the school's file, and holds from then on.
func TestReviewListsAndMarks(t *testing.T) {
	dir := t.TempDir()
	before := said(t, "review", "--data", dir)
	require.Regexp(t, `(?m)^case/tansy +[0-9a-f]{12} +memory +not yet reviewed by a clinician`, before)
	require.NotContains(t, before, "range/dog.crt ", "read in its source")
	require.Contains(t, said(t, "review", "--all"), "range/dog.crt ")

	said(t, "review", "--data", dir, "--mark", "case/tansy", "--by", "=cmd()", "--on", "2026-11-01", "--note", "in class")
	text, err := os.ReadFile(filepath.Join(dir, "reviews.csv"))
	require.NoError(t, err)
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 2)
	require.Equal(t, []string{"'=cmd()", "2026-11-01", "in class"}, rows[1][2:], "no formula for a spreadsheet")
	require.NotContains(t, said(t, "review", "--data", dir), "case/tansy ")
	require.Contains(t, said(t, "review", "--data", dir, "--all"), "reviewed by '=cmd(), 2026-11-01")
	said(t, "review", "--data", dir, "--mark", "case/monty", "--by", "N. Example")
	text, err = os.ReadFile(filepath.Join(dir, "reviews.csv"))
	require.NoError(t, err)
	require.Equal(t, 3, strings.Count(string(text), "\n"), "the heading stands once")
}

// The same items as a server of that folder has: the school's own ranges, and the
// highest version of a rubric in the place of ours.
func TestReviewOfASchoolsFolder(t *testing.T) {
	dir := t.TempDir()
	ranges := "id,species,class,age_from_days,age_to_days,grams_from,grams_to,vital,unit,low,high,grey_low,grey_high,source,confidence\n" +
		"dog.crt,dog,any,56,,0,,crt,s,1,2,1,2.4,our own ward,from memory\n"
	require.NoError(t, os.WriteFile(filepath.Join(dir, "ranges.csv"), []byte(ranges), 0o600))
	data, err := file.Source("veterinary")
	require.NoError(t, err)
	require.NoError(t, os.Mkdir(filepath.Join(dir, "rubrics"), 0o700))
	changed := strings.Replace(strings.Replace(string(data), "version: 1", "version: 2", 1), "are only undisturbed before", "are undisturbed only before", 1)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "rubrics", "own.yaml"), []byte(changed), 0o600))
	var rows []reviewRow
	require.NoError(t, json.Unmarshal([]byte(said(t, "review", "--data", dir, "--all", "--format", "json")), &rows))
	says := map[string]reviewRow{}
	for _, r := range rows {
		says[r.Item] = r
	}
	require.Equal(t, "our own ward", says["range/dog.crt"].Source)
	require.Equal(t, "memory", says["range/dog.crt"].Confidence)
	require.Contains(t, says["rule/veterinary/look-first"].Says, "are undisturbed only before")
	require.Contains(t, says["rule/look-first"].Says, "are only undisturbed before", "the technician's rubric still has ours")
}

func TestReviewRefuses(t *testing.T) {
	dir := t.TempDir()
	bad := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(bad, "reviews.csv"), []byte("item,digest,by,date,note\ncase/tansy,1,N,yesterday,\n"), 0o600))
	for _, c := range []struct {
		words  []string
		status int
		says   string
	}{
		{[]string{"--format", "xml"}, 2, "text, json or csv"},
		{[]string{"--mark", "case/tansy", "--by", "N"}, 2, "--mark needs --data"},
		{[]string{"--mark", "case/tansy", "--data", dir}, 2, "--by"},
		{[]string{"--mark", "case/nobody", "--by", "N", "--data", dir}, 1, `no item "case/nobody"`},
		{[]string{"--mark", "case/tansy", "--by", "N", "--on", "1.11.", "--data", dir}, 1, `"1.11." should be a day`},
		{[]string{"--data", bad}, 1, `reviews.csv:2:16: "yesterday" should be a day`},
		{[]string{"all"}, 2, "takes no words"},
	} {
		var out, errw bytes.Buffer
		require.Equal(t, c.status, run(t.Context(), append([]string{"review"}, c.words...), nil, &out, &errw), c.words)
		require.Contains(t, out.String()+errw.String(), c.says, c.words)
	}
	require.NoFileExists(t, filepath.Join(dir, "reviews.csv"), "nothing was written")
}
