package server

import (
	"archive/zip"
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"encoding/json"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/trial"

	"github.com/stretchr/testify/require"
)

// machinery are the seeds, plans, states and measured draws of the whole school:
// nobody sees them, whatever the role.
func (w *world) machinery() (out []secret) {
	for _, x := range w.things {
		switch x.kind {
		case "attempt":
			out = append(out, w.innards(x.id)...)
		case "drill":
			_, items, err := w.s.store.OwnDrill(w.ctx(), w.people[x.owner], x.id)
			require.NoError(w.t, err)
			for _, it := range items {
				var r struct{ Seed []byte }
				require.NoError(w.t, json.Unmarshal(it.Item, &r))
				require.NotEmpty(w.t, r.Seed)
				out = append(out, inForms("item of "+x.name, it.Item), inForms("seed of "+x.name, r.Seed))
			}
		case "turn":
			row, err := w.s.store.Turn(w.ctx(), x.id)
			require.NoError(w.t, err)
			var plan []planned
			require.NoError(w.t, json.Unmarshal(row.Plan, &plan))
			require.NotEmpty(w.t, plan)
			for _, p := range plan {
				out = append(out, inForms("seed of the plan of "+x.name, p.Seed))
			}
			out = append(out, inForms("plan of "+x.name, row.Plan))
		}
	}
	out = append(out, w.drawn()...)
	seen := map[string]bool{}
	return slices.DeleteFunc(out, func(s secret) bool {
		twice := seen[string(s.forms[0])]
		seen[string(s.forms[0])] = true
		return twice
	})
}

// drawn are the seeds that were measured for the school's sittings.
func (w *world) drawn() (out []secret) {
	for _, x := range w.things {
		if x.kind != "assignment" {
			continue
		}
		draws, err := w.s.store.Draws(w.ctx(), x.id)
		require.NoError(w.t, err)
		for _, d := range draws {
			t, err := trial.DecodeTable(d.Seeds)
			require.NoError(w.t, err)
			for _, one := range t.Rows {
				out = append(out, inForms("measured draw of "+x.name, cases.EncodeSeed(one.Seed)))
			}
		}
	}
	return out
}

// names are the marks of those whom somebody is not to meet in any answer: for
// students everybody else who learns, with number and address, and what is set
// where they do not learn.
func (w *world) names(who string) (out []secret) {
	for login, id := range w.people {
		if learner := login == classmate || login == stranger || login == former || login == owner || login == both; learner && login != who {
			out = append(out, inForms("id of "+login, []byte(id)), inForms("name of "+login, []byte(markedName(login))))
		}
	}
	for _, x := range w.things {
		if x.kind == "assignment" && !set(who, x) && !(who == owner && (x.name == "assignment withdrawn" || x.name == "assignment released" || x.name == "assignment over")) {
			out = append(out, inForms("title of "+x.name, []byte(x.title)))
		}
	}
	return out
}

// TestMarksStayHiddenInEveryState walks every route for every object in every
// state: no planted truth leaves to a student, no seed, plan or draw to anybody,
// and no student meets another's name.
func TestMarksStayHiddenInEveryState(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	for _, login := range []string{owner, classmate} { // newSchool has named them otherwise
		require.NoError(t, w.s.store.Rename(w.ctx(), w.people[login], markedName(login)))
	}
	w.s.wakeMeasure()
	require.Eventually(t, func() bool { return len(w.drawn()) >= 4 }, 20*time.Second, 20*time.Millisecond, "draws are measured")
	inside := w.machinery()
	require.Greater(t, len(inside), 40)
	answers := 0
	for _, k := range w.walkers() {
		secrets := inside
		if role := roles[k.who]; role != "instructor" && role != "coordinator" {
			secrets = slices.Concat(inside, plantedMarks(), w.names(k.who))
		} else if k.who == both { // who teaches one cohort learns in another, where the patient stands in a sitting
			secrets = slices.Concat(inside, slices.DeleteFunc(plantedMarks(), func(s secret) bool { return strings.EqualFold(s.name, "zqbrokenzq") }))
		}
		seen := map[[32]byte]bool{}
		for _, r := range routes() {
			if r.method != get || ends(r) || strings.HasPrefix(r.path, "/static/") {
				continue
			}
			for _, path := range w.allPaths(r) {
				got := k.client(r).get(path)
				sum := sha256.Sum256(append([]byte(bare(got)), k.who...))
				if !seen[sum] {
					seen[sum] = true
					answers++
					lookInside(t, cmpName(k.who)+" GET "+path, got, secrets)
				}
			}
		}
	}
	t.Logf("%d different answers, %d secrets of the machinery", answers, len(inside))
	require.Greater(t, answers, 200)
}

// allPaths are the paths of a route with every object of its kind.
func (w *world) allPaths(r route) (out []string) {
	kind, place, _ := objectOf(r.path)
	if kind == "" {
		return filled(r.path, "", "")
	}
	for _, x := range w.things {
		if x.kind == kind {
			out = append(out, filled(r.path, place, x.id)...)
		}
	}
	return out
}

// lookInside is lookFor, with what stands packed inside of an archive or a PDF file.
func lookInside(t *testing.T, where string, r *reply, secrets []secret) {
	t.Helper()
	lookFor(t, where, r, secrets, nil)
	for _, part := range unpacked(t, r.body) {
		for _, s := range secrets {
			for _, form := range s.forms {
				require.False(t, bytes.Contains(part, form), "%s shows the %s inside", where, s.name)
			}
		}
	}
}

// unpacked are the files of an archive, and the streams of a PDF file.
func unpacked(t testing.TB, body []byte) (out [][]byte) {
	t.Helper()
	switch {
	case bytes.HasPrefix(body, []byte("PK")):
		z, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
		require.NoError(t, err)
		for _, f := range z.File {
			in, err := f.Open()
			require.NoError(t, err)
			raw, err := io.ReadAll(in)
			require.NoError(t, err)
			out = append(out, []byte(f.Name+" "+f.Comment), raw)
			out = append(out, unpacked(t, raw)...)
		}
	case bytes.HasPrefix(body, []byte("%PDF")):
		for _, part := range bytes.Split(body, []byte("stream"))[1:] {
			z, err := zlib.NewReader(bytes.NewReader(bytes.TrimLeft(part, "\r\n")))
			if err != nil {
				continue // between two streams, or a stream that is not packed: looked through as it is
			}
			raw, err := io.ReadAll(z)
			require.NoError(t, err)
			out = append(out, raw)
		}
	}
	return out
}

// TestWhatIsPackedIsFound holds the reader itself against an archive and a file.
func TestWhatIsPackedIsFound(t *testing.T) {
	var z, pdf, packed bytes.Buffer
	w := zip.NewWriter(&z)
	f, err := w.Create("a.txt")
	require.NoError(t, err)
	_, err = f.Write([]byte(markTitle))
	require.NoError(t, err)
	require.NoError(t, w.Close())
	d := zlib.NewWriter(&packed)
	_, err = d.Write([]byte(markTitle))
	require.NoError(t, err)
	require.NoError(t, d.Close())
	pdf.WriteString("%PDF-1.7\n1 0 obj\n<< /Length 9 >>\nstream\n" + packed.String() + "\nendstream\nendobj\n")
	require.Contains(t, string(bytes.Join(unpacked(t, z.Bytes()), nil)), markTitle)
	require.Contains(t, string(bytes.Join(unpacked(t, pdf.Bytes()), nil)), markTitle)
}
