package review

import (
	"strings"
	"testing"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/rubric/normal"
	"github.com/stretchr/testify/require"
)

func library(t *testing.T) Library {
	l := Library{Cases: cases.Builtin(), Ranges: normal.Rows()}
	for _, id := range file.IDs() {
		r, err := file.Builtin(id)
		require.NoError(t, err)
		l.Rubrics = append(l.Rubrics, r)
	}
	return l
}

// Everything that carries medicine is an item, once, with a source and a digest.
func TestItems(t *testing.T) {
	l := library(t)
	seen := map[string]bool{}
	kinds := map[string]int{}
	for _, it := range Items(l) {
		require.False(t, seen[it.ID], it.ID)
		seen[it.ID] = true
		require.Len(t, it.Digest, 12, it.ID)
		require.NotEmpty(t, it.Says, it.ID)
		require.Contains(t, []string{Read, Memory, Derived, Common}, it.Confidence, it.ID)
		kind, _, _ := strings.Cut(it.ID, "/")
		kinds[kind]++
	}
	require.Equal(t, len(l.Ranges), kinds["range"])
	require.Equal(t, len(l.Cases.Cases()), kinds["case"])
	require.Equal(t, len(cases.Links()), kinds["link"])
	regions := 0
	for _, s := range l.Cases.Species() {
		regions += len(l.Cases.Catalogue(s).Regions)
	}
	require.Equal(t, regions, kinds["catalogue"])
	require.GreaterOrEqual(t, kinds["rule"], len(l.Rubrics[0].Rules))
}

// The class of a confidence is read from what the files say of themselves.
func TestConfidence(t *testing.T) {
	for text, want := range map[string]string{
		"read in the source": Read, "from memory": Memory, "common practice, no source": Common, "": Memory,
		"derived from the sources: a teaching default, wide on purpose": Derived,
		"ophthalmology texts, from memory":                              Memory, "Defarges, Clinician's Brief, September 2015": Read,
	} {
		require.Equal(t, want, confidence(text), text)
	}
}

// A review holds for what was looked at, and for nothing that came after.
func TestAReviewHoldsUntilTheItemChanges(t *testing.T) {
	items := []Item{{ID: "case/a", Confidence: Memory, Digest: "111111111111"}, {ID: "case/b", Confidence: Memory, Digest: "222222222222"},
		{ID: "range/c", Confidence: Read, Digest: "333333333333"}}
	b, unknown := NewBook(items, []Mark{
		{Item: "case/a", Digest: "111111111111", By: "N. One", Date: "2026-11-01"},
		{Item: "case/a", Digest: "000000000000", By: "N. Old", Date: "2026-10-01"},
		{Item: "case/b", Digest: "000000000000", By: "N. Old", Date: "2026-10-01"},
		{Item: "case/z", Digest: "000000000000", By: "N. Old", Date: "2026-10-01"},
	})
	require.Equal(t, []string{`there is no item "case/z" to review; dewclaw review --all lists them`}, unknown)
	require.Equal(t, "reviewed by N. One, 2026-11-01", b.Notice("case/a"))
	require.Equal(t, "changed since N. Old reviewed it, 2026-10-01", b.Notice("case/b"))
	require.Empty(t, b.Notice("range/c"), "read in its source")
	require.Empty(t, b.Notice("case/z"))
	open := b.Open()
	require.Len(t, open, 1)
	require.Equal(t, "case/b", open[0].ID)
	later, _ := NewBook(items, []Mark{{Item: "case/a", Digest: "111111111111", By: "A", Date: "2026-11-01"}, {Item: "case/a", Digest: "111111111111", By: "B", Date: "2026-11-20"}})
	require.Equal(t, "reviewed by B, 2026-11-20", later.Notice("case/a"))
}

// A rule that is changed, or a case by a single word, has another digest.
func TestDigestFollowsTheContent(t *testing.T) {
	l := library(t)
	was := Items(l)
	l.Rubrics = []rubric.Rubric{l.Rubrics[0]}
	l.Rubrics[0].Rules = append([]rubric.RuleRow(nil), l.Rubrics[0].Rules...)
	l.Rubrics[0].Rules[0].Why += "!"
	b, _ := NewBook(Items(l), []Mark{{Item: "rule/" + l.Rubrics[0].Rules[0].ID, Digest: digestOf(was, "rule/"+l.Rubrics[0].Rules[0].ID), By: "N", Date: "2026-11-01"}})
	row, ok := b.Find("rule/" + l.Rubrics[0].Rules[0].ID)
	require.True(t, ok)
	require.True(t, row.Changed)
}

func digestOf(items []Item, id string) string {
	for _, it := range items {
		if it.ID == id {
			return it.Digest
		}
	}
	return ""
}

// What is wrong in the school's file is told with its place; the other rows count.
func TestReadMarks(t *testing.T) {
	const head = "item,digest,by,date,note\n"
	for _, c := range []struct{ text, want string }{
		{"item,by\n", "reviews.csv:1:1: the first row should be item,digest,by,date,note"},
		{head + "case/a,1,N\n", "reviews.csv:2:1: this row has 3 cells; it should have 5: item,digest,by,date,note"},
		{head + ",1,N,2026-11-01,\n", "reviews.csv:2:1: name the item, such as case/tansy; dewclaw review lists them"},
		{head + "case/a,,N,2026-11-01,\n", "reviews.csv:2:8: write the digest that dewclaw review shows beside the item: it says what was looked at"},
		{head + "case/a,1,,2026-11-01,\n", "reviews.csv:2:10: say who looked at it, by name"},
		{head + "case/a,1,N,1.11.2026,\n", `reviews.csv:2:12: "1.11.2026" should be a day such as 2026-11-25`},
		{head + "case/a,1,N,2026-11-01," + strings.Repeat("x", 201) + "\n", "reviews.csv:2:23: note is longer than 200 bytes"},
		{head + "case/a,\"1,N\n", "reviews.csv:2:"},
	} {
		marks, problems := ReadMarks("reviews.csv", []byte(c.text+""))
		require.Empty(t, marks, c.text)
		require.NotEmpty(t, problems, c.text)
		require.Contains(t, problems[0].String(), c.want)
	}
	marks, problems := ReadMarks("reviews.csv", []byte(head+"case/a,1,N,bad,\ncase/b,2,N,2026-11-01,fine\n"))
	require.Len(t, problems, 1)
	require.Equal(t, []Mark{{"case/b", "2", "N", "2026-11-01", "fine"}}, marks)
	_, problems = ReadMarks("reviews.csv", make([]byte, mostBytes+1))
	require.Len(t, problems, 1)
}
