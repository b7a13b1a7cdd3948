package server

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/server/store"
)

// version2 is the veterinary rubric that comes with the program, one version
// on, with some texts replaced.
func version2(t testing.TB, pairs ...string) string {
	t.Helper()
	raw, err := file.Source("veterinary")
	require.NoError(t, err)
	text := string(raw)
	for i := 0; i < len(pairs); i += 2 {
		require.Contains(t, text, pairs[i])
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	require.Contains(t, text, "\nversion: 1\n")
	return strings.Replace(text, "\nversion: 1\n", "\nversion: 2\n", 1)
}

// layRubric puts a file into the school's own folder.
func (sc *school) layRubric(name, text string) {
	sc.t.Helper()
	dir := filepath.Join(sc.cfg.Data, rubricFolder)
	require.NoError(sc.t, os.MkdirAll(dir, 0o700))
	require.NoError(sc.t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
}

// post sends a form as a page does.
func (c *client) post(path string, pairs ...string) *reply {
	c.sc.t.Helper()
	f := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	c.header = map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
	defer func() { c.header = nil }()
	return c.send("POST", path, f.Encode())
}

// playVisits has students of different skill examine every patient, and waits
// for the grades.
func (sc *school) playVisits(n int) []store.Attempt {
	sc.t.Helper()
	ctx := context.Background()
	me, err := sc.s.store.PersonByLogin(ctx, "student")
	require.NoError(sc.t, err)
	ids := sc.s.Practice()
	for i := range n {
		acts := func(p *cases.Patient, k rubric.Key) []rubric.Act { return robot.Typical(p, k, 1+i%4, uint64(i)) }
		require.NoError(sc.t, sc.s.PlayVisit(ctx, me.ID, ids[i%len(ids)], "veterinary", acts))
	}
	return sc.graded(n)
}

func (sc *school) graded(n int) []store.Attempt {
	sc.t.Helper()
	ctx := context.Background()
	var out []store.Attempt
	require.Eventually(sc.t, func() bool {
		list, err := sc.s.store.Attempts(ctx, store.Filter{State: store.StateGraded, Limit: 1000})
		return err == nil && len(list) == n
	}, 30*time.Second, 5*time.Millisecond)
	list, err := sc.s.store.Attempts(ctx, store.Filter{Limit: 1000})
	require.NoError(sc.t, err)
	for _, l := range list {
		a, err := sc.s.store.Attempt(ctx, l.ID)
		require.NoError(sc.t, err)
		out = append(out, a)
	}
	return out
}

// reports are the encoded reports, with what the store holds beside them.
func (sc *school) reports() map[string]store.Report {
	sc.t.Helper()
	out := map[string]store.Report{}
	list, err := sc.s.store.Attempts(context.Background(), store.Filter{State: store.StateGraded, Limit: 1000})
	require.NoError(sc.t, err)
	for _, l := range list {
		r, err := sc.s.store.Report(context.Background(), l.Transcript)
		require.NoError(sc.t, err)
		out[l.ID] = r
	}
	return out
}

// versionKeys are the keys of the two versions on the page.
func (sc *school) versionKeys(id string) (from, to string) {
	sc.t.Helper()
	all, _, err := sc.s.versions(context.Background(), id)
	require.NoError(sc.t, err)
	require.Len(sc.t, all, 2)
	return all[1].key(), all[0].key()
}

// proposal works a regrading out through the pages and returns its id.
func (sc *school) proposal(c *client) string {
	sc.t.Helper()
	from, to := sc.versionKeys("veterinary")
	r := c.post("/rubrics/veterinary/regrade", "deed", "propose", "from", from, "to", to).is(http.StatusSeeOther)
	_, of, ok := strings.Cut(r.header.Get("Location"), "?of=")
	require.True(sc.t, ok)
	sc.worked(of)
	return of
}

func (sc *school) worked(of string) {
	sc.t.Helper()
	require.Eventually(sc.t, func() bool {
		g, err := sc.s.store.Regrading(context.Background(), of)
		return err == nil && g.State == store.RegradeProposed
	}, 30*time.Second, 5*time.Millisecond)
}

// byHand marks a visit by another rubric without the code under test: from
// today's case and the stored seed. It returns old and new points line by line.
func (sc *school) byHand(a store.Attempt, r rubric.Rubric) (rubric.Report, []string) {
	sc.t.Helper()
	seed, err := cases.DecodeSeed(a.Seed)
	require.NoError(sc.t, err)
	p, err := cases.NewPatient(sc.s.library, sc.s.library.Case(a.Case), seed)
	require.NoError(sc.t, err)
	k, err := p.Key(r)
	require.NoError(sc.t, err)
	tr, err := sc.s.transcript(context.Background(), a)
	require.NoError(sc.t, err)
	later := rubric.Grade(r, k, tr)
	stored, err := sc.s.store.Report(context.Background(), a.Transcript)
	require.NoError(sc.t, err)
	earlier, err := rubric.DecodeReport(stored.Packed)
	require.NoError(sc.t, err)
	return later, handDiff(earlier, later)
}

// handDiff lists changed marks as text, sorted.
func handDiff(earlier, later rubric.Report) []string {
	lines := func(r rubric.Report) map[string][2]rubric.Points {
		out := map[string][2]rubric.Points{}
		for _, d := range r.Domains {
			for _, l := range d.Lines {
				id := l.ID
				for n := 2; ; n++ {
					if _, taken := out[id]; !taken {
						break
					}
					id = fmt.Sprintf("%s#%d", l.ID, n)
				}
				out[id] = [2]rubric.Points{l.Points, l.Max}
			}
		}
		return out
	}
	a, b := lines(earlier), lines(later)
	var out []string
	for id := range b {
		if a[id] != b[id] {
			out = append(out, fmt.Sprintf("%s %v %v", id, a[id], b[id]))
		}
	}
	for id := range a {
		if _, ok := b[id]; !ok && a[id] != [2]rubric.Points{} {
			out = append(out, fmt.Sprintf("%s %v %v", id, a[id], [2]rubric.Points{}))
		}
	}
	slices.Sort(out)
	return out
}

// shown are the changed marks as the program lists them.
func shown(marks []changedMark) []string {
	var out []string
	seen := map[string]int{}
	points := func(l *rubric.Line) [2]rubric.Points {
		if l == nil {
			return [2]rubric.Points{}
		}
		return [2]rubric.Points{l.Points, l.Max}
	}
	for _, m := range marks {
		id := m.Old
		if m.Later != nil {
			id = m.Later
		}
		name := id.ID
		if seen[name]++; seen[name] > 1 {
			name = fmt.Sprintf("%s#%d", id.ID, seen[id.ID])
		}
		out = append(out, fmt.Sprintf("%s %v %v", name, points(m.Old), points(m.Later)))
	}
	slices.Sort(out)
	return out
}
