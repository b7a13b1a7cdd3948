package server

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// readPDF reads the text of a PDF back by a program that is not ours (poppler's
// pdftotext); without it the test is skipped.
func readPDF(t *testing.T, body []byte) string {
	t.Helper()
	program, err := exec.LookPath("pdftotext")
	if err != nil && os.Getenv("CI") == "true" {
		t.Fatal("CI=true and no pdftotext (Debian: poppler-utils): what stands in the PDF was not read back")
	}
	if err != nil {
		t.Skip("pdftotext (Debian: poppler-utils) is not here: what stands in the PDF cannot be read back")
	}
	name := filepath.Join(t.TempDir(), "appeal.pdf")
	require.NoError(t, os.WriteFile(name, body, 0o600))
	out, err := exec.Command(program, "-layout", name, "-").CombinedOutput()
	require.NoError(t, err, "%s", out)
	return oneLine(string(out))
}

// appealed is a visit to which everything was done that can be: marked by hand,
// decided, reviewed, struck, excused and released, beside another student's.
func (sc *school) appealed() (a store.Assignment, mine, other store.Attempt) {
	sc.t.Helper()
	a = sc.sitting1("tinker")
	turn, all := sc.sitsThrough("student", a, robot.Reckless)
	_, others := sc.sitsThrough("student2", a, typically(4, 2))
	mine, other = all[0], others[0]
	staff, second := sc.as("instructor"), sc.as("coordinator")
	r := staff.toMark(mine.ID)
	line := lineLike(sc.t, r.Report, func(l face.Mark) bool { return strings.HasPrefix(l.ID, "completeness/") && l.Max > 100 })
	staff.post("/visits/"+mine.ID+"/marks", "deed", "mark", "line", line.ID, "points", "0.1", "reason", "Too short for Ødegård’s ear.", "seen", r.Seen).is(http.StatusSeeOther)
	sc.clock.Pass(time.Minute)
	staff.post("/visits/"+mine.ID+"/marks", "deed", "decide", "what", "bite", "stands", "no", "reason", "The muzzle slipped.", "seen", staff.toMark(mine.ID).Seen).is(http.StatusSeeOther)
	staff.post("/visits/"+other.ID+"/marks", "deed", "mark", "line", line.ID, "points", "0.1", "reason", "zebrawords", "seen", staff.toMark(other.ID).Seen).is(http.StatusSeeOther)
	staff.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusSeeOther)
	sc.as("student").post("/visits/"+mine.ID+"/reviews", "line", line.ID, "words", "I listened for a minute 漢.").is(http.StatusSeeOther)
	sc.clock.Pass(time.Minute)
	staff.post("/visits/"+mine.ID+"/marks", "deed", "answer", "line", line.ID, "points", "", "reason", "It stays as it is.", "seen", staff.toMark(mine.ID).Seen).is(http.StatusSeeOther)
	lines, err := sc.s.strikable(sc.t.Context(), a, "tinker")
	require.NoError(sc.t, err)
	last := lines[len(lines)-1].ID
	g, err := sc.s.proposeStrike(sc.t.Context(), sc.face("instructor"), a.ID, strikeAsk{patient: sc.s.opaque("tinker"), change: rubric.Amendment{Strike: []string{last}}, reason: "Nobody could know."})
	require.NoError(sc.t, err)
	sc.worked(g.ID)
	second.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", g.ID, "reason", "So it is.").is(http.StatusSeeOther)
	second.post("/assignments/"+a.ID+"/marks", "deed", "excuse", "turn", turn, "reason", "Fire alarm.").is(http.StatusSeeOther)
	return a, mine, other
}

func TestAppealFile(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a, v, other := sc.appealed()
	staff := sc.as("instructor")
	got := staff.get("/visits/" + v.ID + "/appeal.pdf").is(http.StatusOK)
	require.Equal(t, "application/pdf", got.header.Get("Content-Type"))
	require.Contains(t, got.header.Get("Content-Disposition"), `attachment; filename="appeal-`+v.ID+`.pdf"`)
	require.True(t, bytes.HasPrefix(got.body, []byte("%PDF-")), "ISO 32000-1, 7.5.2")
	r := staff.toMark(v.ID)
	text := readPDF(t, got.body)
	row, err := sc.s.store.Attempt(t.Context(), v.ID)
	require.NoError(t, err)
	for _, want := range []string{"Person student", a.Title, "Tinker", r.Engine, "25 Nov 2026", pts(r.Total) + " of 100 points", pts(*r.Computed) + " points, by the engine alone",
		"Person instructor marked", "Too short for Ødegård’s ear.", "The muzzle slipped.", "It does not stand.", "asked for a review", "I listened for a minute [U+6F22].",
		"without another mark", "It stays as it is.", "Nobody could know.", "Person coordinator signed for everybody", "So it is.", "Fire alarm.", "released the debrief", "version 1",
		"Simulated patients, for teaching."} {
		require.Contains(t, text, want)
	}
	whole := strings.ReplaceAll(text, " ", "")
	for _, hash := range []string{row.RubricHash, row.CaseHash, row.CatalogueHash, row.RangesHash} {
		require.Contains(t, whole, hash)
	}
	for _, d := range r.Domains { // every line, with the beginning of its reason
		for _, l := range d.Lines {
			require.Contains(t, whole, strings.ReplaceAll(l.Label, " ", ""), l.ID)
			words := strings.Fields(l.Reason)
			require.Contains(t, whole, strings.Join(words[:min(4, len(words))], ""), l.ID)
		}
	}
	acts, err := sc.s.store.Acts(t.Context(), v.Transcript, 0)
	require.NoError(t, err)
	require.Contains(t, text, acts[len(acts)-1].At.In(sc.s.zone()).Format("15:04:05"))
	for _, not := range []string{"student2", other.ID, "zebrawords"} {
		require.NotContains(t, text, not)
		require.NotContains(t, string(got.body), not)
	}
	require.Contains(t, sc.deedWordsOf(), deedAppeal)
}

// The archive can be marked again by the command line: the acts are read back, the
// rubric is the one of the visit.
func TestAppealArchive(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	_, v, other := sc.appealed()
	got := sc.as("instructor").get("/visits/" + v.ID + "/appeal.zip").is(http.StatusOK)
	z, err := zip.NewReader(bytes.NewReader(got.body), int64(len(got.body)))
	require.NoError(t, err)
	parts := map[string][]byte{}
	for _, f := range z.File {
		in, err := f.Open()
		require.NoError(t, err)
		parts[f.Name], err = io.ReadAll(in)
		require.NoError(t, err)
		for _, not := range []string{"student2", other.ID, "zebrawords"} {
			require.NotContains(t, string(parts[f.Name]), not, f.Name)
		}
	}
	require.True(t, bytes.HasPrefix(parts["appeal.pdf"], []byte("%PDF-")))
	acts, err := rubric.ReadTranscript(bytes.NewReader(parts["transcript.jsonl"]))
	require.NoError(t, err)
	played, err := sc.s.transcript(t.Context(), v)
	require.NoError(t, err)
	require.Len(t, acts, len(played))
	require.Empty(t, acts[0].Outcome.State, "what is hidden stays")
	scheme, err := file.Parse("rubric.yaml", parts["rubric.yaml"])
	require.NoError(t, err)
	require.Equal(t, 1, scheme.Version)
	var report face.MarkedReport
	require.NoError(t, json.Unmarshal(parts["report.json"], &report))
	require.Equal(t, sc.as("instructor").toMark(v.ID).Total, report.Total)
	require.NotEmpty(t, parts["ranges.csv"])
	require.NotEmpty(t, parts["read me.txt"])
}

// Lines break between words and within a word that is longer than a line.
func TestLettersOfTheAppealFile(t *testing.T) {
	t.Parallel()
	require.Equal(t, "Ødegård Łukasz Ελλη Пётр", pdfText("Ødegård Łukasz Ελλη Пётр"))
	require.Equal(t, "[U+6F22]a b\nc", pdfText("漢a\tb\nc"))
	doc := appealDoc{title: "T", sections: []appealSection{{title: "S", lines: []appealLine{{left: "l", text: strings.Repeat("Ω", 3000), right: "1.00 of 2.00"}, {text: ""}, {text: strings.Repeat("word ", 2000)}}}}}
	body, err := doc.pdf(time.Unix(0, 0))
	require.NoError(t, err)
	again, err := doc.pdf(time.Unix(0, 0))
	require.NoError(t, err)
	require.Equal(t, len(body), len(again))
	text := readPDF(t, body)
	require.Equal(t, 2000, strings.Count(text, "word"))
	require.Equal(t, 3000, strings.Count(text, "Ω"))
}
